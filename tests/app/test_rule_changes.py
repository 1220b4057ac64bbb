from jointlab.app.rule_changes import CHANGES, earlier_rules, reasons_since
from jointlab.strength.working import RULE


def test_today_s_rule_is_the_last_of_the_list():
    assert list(CHANGES)[-1] == RULE


def test_only_rules_that_once_were_are_earlier_ones():
    assert earlier_rules([{"method": "wishing 2"}, {"method": RULE}, {}]) == ()
    assert earlier_rules([{"method": "working 2"}, {"method": "working 1"}]) == ("working 1", "working 2")


def test_every_change_since_a_rule_is_told():
    (told,) = reasons_since(["working 1"])
    assert "working 2: differences between glue-ups count" in told
    assert f"today's is {RULE!r}" in told
    assert "the first rule" not in told
