"""Pull <-> cells."""

from __future__ import annotations

import json

from jointlab.book.cells import NAME_KEYS, cells_of, differing_columns, pull_from
from jointlab.record.row import COLUMNS
from jointlab.record.vocabulary import Action, GlueFamily


def test_cells_hold_every_column_of_the_contract_its_keys_and_the_entry(pull_of_cells):
    cells = cells_of(pull_of_cells(glue="Yellow  GLUE"))
    assert set(cells) == {*COLUMNS, *NAME_KEYS, "entered"}
    assert cells["glue"] == "Yellow GLUE"
    assert cells["glue_key"] == "yellow glue"
    assert cells["preparation_key"] == ""
    assert cells["preparation"] is None
    assert json.loads(cells["entered"]) == [["load_n", "1500"]]


def test_words_are_stored_as_text_and_come_back_as_words(pull_of_cells):
    cells = cells_of(pull_of_cells(glue_family="pva"))
    assert type(cells["action"]) is str
    pull = pull_from(cells)
    assert pull.action is Action.PULL
    assert pull.joint.glue_family is GlueFamily.PVA


def test_minus_zero_is_stored_as_zero(pull_of_cells):
    assert str(cells_of(pull_of_cells(gap_mm="-0.0"))["gap_mm"]) == "0.0"


def test_differing_columns_are_named_in_the_order_of_the_contract(pull_of_cells):
    first, second = cells_of(pull_of_cells()), cells_of(pull_of_cells(notes="n", load_n="2"))
    assert differing_columns(first, second) == ("load_n", "notes")
    assert differing_columns(first, dict(first)) == ()
