from __future__ import annotations

from dataclasses import replace

from jointlab.publish.tables import (
    bounds_table,
    brief_pulls,
    column_words,
    factors_table,
    families_table,
    links_table,
    mount_table,
    pulls_table,
    same_in_all,
    strengths_table,
)


def test_every_row_of_every_table_has_a_cell_for_each_head(made) -> None:
    publication, mount = made.publication_of(), made.mount_of()
    for table in (
        strengths_table(publication.strengths),
        bounds_table(publication.strengths),
        families_table(publication.strengths),
        mount_table(mount.setup),
        links_table(mount),
        factors_table(mount),
        pulls_table(publication.pulls),
        brief_pulls(publication.pulls)[0],
    ):
        assert table.rows
        assert {len(row) for row in table.rows} == {len(table.head)}, table.caption


def test_strengths_are_told_with_counts_and_what_can_be_relied_on(made) -> None:
    table = strengths_table(made.publication_of().strengths)
    assert table.caption == "What can be relied on: 95 % of joints, 95 % sure"
    assert table.rows == (
        ("yellow glue on maple", "pry", "1.5", "5", "4", "1", "2", ""),
        ("yellow glue on plywood (sanded)", "pry", "\N{EN DASH}", "1", "1", "0", "2", "open finding"),
    )


def test_bounds_that_were_not_given_are_left_out(made) -> None:
    table = bounds_table((made.strength_of(made.MAPLE, bound_mpa=1.5),))
    assert [row[2:] for row in table.rows] == [
        ("smallest and a larger strength (Hanson-Koopmans)", "1.88"),
        ("working bound", "1.5"),
    ]


def test_a_family_without_a_maximum_says_why(made) -> None:
    table = families_table((made.strength_of(made.MAPLE, bound_mpa=1.5),))
    assert [row[2:] for row in table.rows] == [
        ("Weibull", "shape 6.5, scale_mpa 4.25", "-7.125", "20.5"),
        ("normal", "every break has the same value", "\N{EN DASH}", "\N{EN DASH}"),
    ]


def test_links_show_demand_strength_and_both_margins(made) -> None:
    assert links_table(made.mount_of()).rows == (
        ("glue line", "severe catch", "0.8 and 0.4 MPa", "1.96 and 2.1 MPa", "2.25", "2.75", "these pulls"),
        ("screws", "severe catch", "800 N out", "4170 N out", "5.21", "5.21", "a published source"),
    )


def test_factors_are_shown_with_their_source_and_its_standing(made) -> None:
    ((name, value, why, source),) = factors_table(made.mount_of()).rows
    assert (name, value, why) == ("size, tension", "0.682", "a larger bond")
    assert source.startswith("Barrett (1974)")
    assert source.endswith("[read second-hand]")


def test_the_mount_is_told_as_it_was_described(made) -> None:
    rows = dict(mount_table(made.mount_of().setup).rows)
    assert rows["blank"] == "250 mm across, 80 mm long, 2.2 kg"
    assert rows["joint"] == "yellow glue on maple, disc of 130 mm, 168 h old"
    assert rows["screws"] == "6 of 5.5 mm on a circle of 100 mm, 30 mm of thread in the block"
    assert rows["asked"] == "margin 1.5 in a severe catch"


def test_columns_are_called_by_word_and_unit() -> None:
    assert column_words("load_n") == "load, N"
    assert column_words("torque_nm") == "torque, N m"
    assert column_words("diameter_mm") == "diameter, mm"
    assert column_words("humidity_pct") == "humidity, %"
    assert column_words("spread_g_m2") == "spread, g/m\N{SUPERSCRIPT TWO}"
    assert column_words("broke_at") == "broke at"


def test_what_is_the_same_in_every_pull_is_said_once(made) -> None:
    pulls = made.publication_of().pulls
    same = dict(same_in_all(pulls))
    assert same["diameter, mm"] == "50"
    assert same["glue"] == "yellow glue"
    assert set(same).isdisjoint(pulls_table(pulls).head)


def test_pulls_in_brief_stand_under_their_combination_and_say_once_what_they_share(made) -> None:
    pulls = (
        made.pull_of("1", lower=3.0, upper=3.0),
        made.pull_of("2", combination=made.PLY, lower=4.0, upper=4.0),
        made.pull_of("3", lower=5.0, upper=None),
    )
    table, same = brief_pulls(pulls)
    assert table.parted == ((0, "yellow glue on maple, pry"), (2, "yellow glue on plywood (sanded), pry"))
    assert table.head == ("batch", "specimen", "load", "strength, MPa")
    assert [row[1] for row in table.rows] == ["1", "3", "2"]
    assert same == (("bond", "disc of 50 mm"), ("outcome", "broke"), ("broke at", "glue line"))
    assert brief_pulls(()) == (replace(table, rows=(), parted=()), ())


def test_factors_alike_in_tension_and_shear_stand_in_one_row(made) -> None:
    mount = made.mount_of()
    (factor,) = mount.verdict.factors
    alike = tuple(replace(factor, name=name) for name in ("edge_tension", "edge_shear", "cure_tension"))
    other = replace(factor, name="cure_shear", value=0.5)
    rows = factors_table(replace(mount, verdict=replace(mount.verdict, factors=(*alike, other)))).rows
    assert [row[0] for row in rows] == ["edge, tension and shear", "cure, tension", "cure, shear"]
