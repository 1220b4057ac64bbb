from jointlab.record.csv_file import read_csv, written_table
from jointlab.record.template import ROWS, TITLES
from jointlab.record.vocabulary import Outcome


def test_the_table_to_start_from_reads_as_it_stands_with_one_row_for_each_outcome():
    pulls = read_csv(written_table((TITLES, *ROWS)).encode(), name="template.csv").pulls
    assert [pull.outcome for pull in pulls] == list(Outcome)
    assert len({pull.notes for pull in pulls}) == len(pulls)
