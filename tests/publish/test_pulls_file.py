from __future__ import annotations

import csv
import io
from dataclasses import replace

from jointlab.publish.pulls_file import pulls_file


def rows_of(pulls) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(pulls_file(pulls).content.decode("utf-8"))))


def test_every_number_reads_back_to_the_same_value(made) -> None:
    third = 1.0 / 3.0
    (row,) = rows_of((made.pull_of("1", lower=third, upper=third),))
    assert float(row["strength_lower_mpa"]) == third
    assert float(row["load_n"]) == 150.0


def test_columns_nobody_used_are_left_out_and_what_names_a_pull_is_not(made) -> None:
    columns = pulls_file((made.pull_of("1", lower=1.0, upper=1.0),)).columns
    assert columns[:2] == ("batch", "specimen")
    assert "torque_nm" not in columns
    assert "load_entered" not in columns
    assert pulls_file(()).columns == ("batch", "specimen")


def test_a_pull_that_says_nothing_has_no_strength(made) -> None:
    pull = made.pull_of("1", lower=0.0, upper=None)
    (row,) = rows_of((replace(pull, stress=replace(pull.stress, carries_information=False)),))
    assert "strength_lower_mpa" not in row


def test_a_reading_is_no_column_of_its_own_and_the_load_it_means_is_published(made) -> None:
    pull = made.pull_of("1", lower=1.0, upper=1.0)
    entered = (("reading_kgf", "15.3"), ("diameter_cm", "5"))
    (row,) = rows_of((replace(pull, pull=replace(pull.pull, entered=entered)),))
    assert not [name for name in row if name.startswith("reading")]
    assert (row["load_n"], row["diameter_entered"], row["diameter_entered_unit"]) == ("150.0", "5", "cm")
    assert "load_entered" not in row
