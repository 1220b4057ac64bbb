from __future__ import annotations

from jointlab.publish.disclosure import Private, disclosed


def test_what_a_shop_did_not_choose_is_left_out_and_the_rest_is_as_it_was(made) -> None:
    pulls = (made.pull_of("1", lower=1.0, upper=1.0, notes="private"),)
    publication = made.publication_of(pulls=pulls, shop="a shop")
    assert disclosed(publication).shop is None
    assert disclosed(publication).pulls[0].pull.notes is None
    assert disclosed(publication).pulls[0].stress == pulls[0].stress
    assert disclosed(publication, chosen=(Private.SHOP,)).shop == "a shop"
    assert disclosed(publication, chosen=(Private.SHOP, Private.NOTES)) == publication
