from jointlab.app.cli.marking import marked


def test_every_item_comes_through_in_order_without_a_terminal():
    assert list(marked([3, 1, 2], "things")) == [3, 1, 2]
