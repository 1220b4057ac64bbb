from dataclasses import replace

import pytest

from jointlab.errors import InputError
from jointlab.pool.gathering import gathered
from jointlab.pool.values import Contribution, FieldEntry, RulingKind
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import Action, Outcome

ENTRY = FieldEntry(220.0, 90.0, None, "finished", "pass")


def pull(batch, specimen, *, load=150.0, glue="hide", substrate="ash", **more):
    return Pull(
        batch=batch,
        specimen=specimen,
        tested_on="2026-01-17",
        joint=Joint(Combination(glue, substrate), Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=load, arm_mm=300.0),
        outcome=Outcome.BROKE,
        broke=Break(),
        conditions=Conditions(),
        **more,
    )


def package(name, *pulls, dated_on="2026-02-01", **more):
    return Contribution(name, dated_on, pulls, **more)


def kinds(found):
    return [ruling.kind for ruling in found.rulings]


def test_packages_that_have_nothing_in_common_are_shops_of_their_own():
    found = gathered([package("a", pull("a1", "1")), package("b", pull("b1", "1", load=160.0))])
    assert [shop.name for shop in found.shops] == ["shop 1", "shop 2"]
    assert found.rulings == ()


def test_a_pull_that_came_twice_counts_once_and_marks_one_shop():
    twice = pull("a1", "1")
    found = gathered([package("a", twice), package("b", twice, pull("a1", "2"), dated_on="2026-03-01")])
    (shop,) = found.shops
    assert shop.packages == ("a", "b")
    assert [each.specimen for each in shop.pulls] == ["1", "2"]
    assert kinds(found) == [RulingKind.SHOP, RulingKind.DUPLICATE]
    assert "1 pulls of b are in a already" in found.rulings[1].text


def test_a_note_or_another_unit_does_not_make_a_pull_another_one():
    found = gathered(
        [package("a", pull("a1", "1", notes="cold shop")), package("b", pull("a1", "1", entered=(("load_kgf", "15"),)))]
    )
    assert len(found.shops) == 1
    assert len(found.shops[0].pulls) == 1


def test_the_later_package_of_a_book_counts_where_a_pull_was_corrected():
    first = package("a", pull("a1", "1"), book="m", field=(ENTRY,))
    later = package("b", pull("a1", "1", load=140.0), book="m", dated_on="2026-05-01", field=(ENTRY, ENTRY))
    found = gathered([later, first])
    (shop,) = found.shops
    assert [each.loading.load for each in shop.pulls] == [140.0]
    assert len(shop.field) == 2
    assert kinds(found) == [RulingKind.SHOP, RulingKind.REVISED]
    assert "a1, 1 reads otherwise in b than in a" in found.rulings[1].text


def test_the_same_public_name_is_the_same_shop():
    found = gathered([package("a", pull("a1", "1"), shop="Elm Yard"), package("b", pull("b1", "1"), shop="elm  yard")])
    assert [shop.name for shop in found.shops] == ["Elm Yard"]


def test_two_shops_may_call_a_glue_up_alike():
    found = gathered([package("a", pull("1", "1")), package("b", pull("1", "1", load=170.0))])
    assert [len(shop.pulls) for shop in found.shops] == [1, 1]


def test_names_that_differ_by_case_only_are_one_and_it_is_said():
    found = gathered([package("a", pull("a1", "1")), package("b", pull("b1", "1", glue="Hide"))])
    assert {each.joint.combination.glue for shop in found.shops for each in shop.pulls} == {"hide"}
    assert [ruling.text for ruling in found.rulings] == ["'Hide' is taken for 'hide' (1 pulls)."]


def test_names_that_look_alike_are_left_apart_until_told():
    two = [package("a", pull("a1", "1", glue="yellow glue")), package("b", pull("b1", "1", glue="yelow glue"))]
    apart = gathered(two)
    assert kinds(apart) == [RulingKind.LEFT_APART]
    assert '--same "yellow glue=yelow glue"' in apart.rulings[0].text
    joined = gathered(two, same={"yelow glue": "yellow glue"})
    assert {each.joint.combination.glue for shop in joined.shops for each in shop.pulls} == {"yellow glue"}
    assert kinds(joined) == [RulingKind.NAME]


def test_units_that_were_entered_otherwise_are_told():
    entered = replace(pull("a1", "1"), entered=(("load_kgf", "15.3"), ("diameter_mm", "50")))
    (ruling,) = gathered([package("a", entered)]).rulings
    assert ruling.text == "shop 1 entered load_kgf: read in N, mm, h."


def test_no_package_is_refused():
    with pytest.raises(InputError, match="no package was named"):
        gathered([])
