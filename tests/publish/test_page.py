from __future__ import annotations

import json
import re
from dataclasses import replace

import html5lib
import pytest
from bs4 import BeautifulSoup

from jointlab.mount.envelope import EnvelopeAxis
from jointlab.mount.setup import Tailstock
from jointlab.publish.page import results_page
from jointlab.publish.tables import MOST_PULLS
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination
from jointlab.verdict.operating import OperatingLine, OperatingPoint
from jointlab.verdict.values import Outcome as Answer

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&lt; $x_{1}$ --> {{ 7*7 }}"


@pytest.fixture(scope="module")
def page(made) -> str:
    return results_page(made.publication_of())


@pytest.fixture(scope="module")
def soup(page) -> BeautifulSoup:
    return BeautifulSoup(page, "html5lib")


def text_of(page: str) -> str:
    soup = BeautifulSoup(page, "html5lib")
    return " ".join(soup.body.get_text(" ").split())


def test_a_page_is_valid_html(page) -> None:
    html5lib.HTMLParser(strict=True).parse(page)


def test_no_name_stands_twice_in_a_page(soup) -> None:
    names = [element["id"] for element in soup.find_all(id=True)]
    assert len(names) > 50
    assert len(names) == len(set(names))
    targets = [element["href"][1:] for element in soup.find_all("use")]
    assert targets
    assert set(targets) <= set(names)


def test_a_page_asks_nothing_of_a_network(page, soup) -> None:
    assert [each["type"] for each in soup.find_all("script")] == ["application/ld+json"]  # data, never run
    assert not soup.find_all(["link", "iframe", "img", "object", "embed", "form"])
    addresses = set(re.findall(r"https?://[^\"' )<]+", page))
    # names of a language, a vocabulary and a licence, not places that are asked
    licence = "https://creativecommons.org/licenses/by/4.0/"
    assert addresses == {"http://www.w3.org/2000/svg", "https://schema.org/", licence}
    assert not re.findall(r"@import|url\((?!#)", page)
    policy = soup.find("meta", attrs={"http-equiv": "Content-Security-Policy"})["content"]
    assert policy.startswith("default-src 'none'")


def test_the_page_leads_with_question_and_answer_and_what_grab_it_stands(soup) -> None:
    first = soup.main.find("section")
    assert first.find(class_="question").get_text() == "What can a joint made with yellow glue be relied on for?"
    answer = first.find(class_="answer").get_text()
    assert "2340 N (238 kgf)" in answer  # 2340 / 9.80665 = 238.6, rounded down
    assert "Margin met under these assumptions" in answer
    assert "the glue line governs (severe catch)" in answer


def test_parts_stand_in_the_order_a_reader_needs(soup) -> None:
    heads = [head.get_text() for head in soup.find_all("h2")]
    assert heads == [
        "The question, and the answer",
        "What was glued to what, and how strong it was",
        "The mount: bowl",
        "The numbers behind it",
        "How the numbers were got",
        "Before you rely on it",
        "Every pull",
    ]


def test_the_word_safe_is_never_the_tools(page) -> None:
    assert not re.search(r"\bsafe", text_of(page), flags=re.IGNORECASE)


def test_every_figure_says_in_words_what_it_shows(soup) -> None:
    drawings = soup.select("[role=img]")
    assert len(drawings) == 5
    said = " ".join(drawing["aria-label"] for drawing in drawings)
    assert "yellow glue on maple, pry: 6 pulls between 0.24 and 5 MPa, can be relied on: 1.5 MPa" in said
    assert "yellow glue on plywood (sanded), pry: 1 pull between 2.2 and 2.2 MPa, no bound" in said
    assert "glue line, governed severe catch: lower margin 2.25" in said
    assert "4 pulls, 1 of them held, with fitted shapes Weibull" in said


def test_every_pull_is_in_the_table_with_what_it_says_of_strength(soup) -> None:
    table = soup.select_one(".pulls table")
    heads = [cell.get_text() for cell in table.thead.find_all(["th", "td"])]
    rows = [[cell.get_text() for cell in row.find_all(["th", "td"])] for row in table.tbody.find_all("tr")]
    assert [row[heads.index("strength, MPa")] for row in rows] == [
        "3.5",
        "4.5",
        "over 5",
        "3.75 to 4",
        "under 0.24",
        "2",
        "2.2",
    ]
    assert [row[heads.index("excluded because")] for row in rows] == ["", "", "", "", "", "clamp fell off", ""]
    same = {term.get_text(): term.find_next("dd").get_text() for term in soup.select("dl.same dt")}
    assert same["arm, mm"] == "300"
    assert same["load, N"] == "150"


def test_a_reading_that_was_questioned_is_named_with_its_question(page) -> None:
    assert "B, 2: Did it hold?" in text_of(page)


def test_exactly_the_sources_used_are_printed(soup) -> None:
    heading = next(head for head in soup.find_all("h3") if head.get_text() == "Sources used")
    printed = [item.get_text().rsplit(" (", 1)[0] for item in heading.find_next("ul").find_all("li")]
    assert printed == [
        "Elementary mechanics of bending, torsion and rotation",
        "Quadratic interaction of tension and shear (Norris; Tsai-Hill without its cross term)",
        "Barrett (1974), Wood and Fiber: fir tension across the grain at 1 and 2000 cubic inches, exponent 0.2008",
    ]


def test_a_blocking_finding_is_shown_as_open(page) -> None:
    assert "Open: Glue-ups are not counted." in text_of(page)


def test_a_relaxed_answer_says_so_and_by_how_much(made) -> None:
    page = text_of(results_page(made.publication_of(mounts=(made.mount_of(relaxed=True),))))
    assert "Margin met under these assumptions (criteria relaxed: margin 1.2 under 1.5)" in page
    assert "Less was asked than usual: margin 1.2 under 1.5" in page


@pytest.mark.parametrize(
    ("answer", "stands_n", "sentence"),
    [
        (Answer.FAIL, 900.0, "Margin not met: the mount stands a grab of 900 N (91.7 kgf)"),
        (Answer.FAIL, 0.0, "Margin not met: the mount keeps the margin asked in no grab at all"),
        (Answer.UNDECIDED, None, "Undecided: no strength is known of the glue line"),
    ],
)
def test_each_answer_is_told_in_a_sentence_a_class_and_a_shape(answer, stands_n, sentence, made) -> None:
    soup = BeautifulSoup(
        results_page(made.publication_of(mounts=(made.mount_of(answer, stands_n=stands_n),))), "html5lib"
    )
    box = soup.select_one("p.answer")
    assert sentence in " ".join(box.get_text().split())
    assert str(answer) in box["class"]
    assert box.select_one(".shape").get_text() in "\N{BLACK CIRCLE}\N{BLACK SQUARE}\N{LOZENGE}"


def test_without_a_mount_the_answer_is_about_the_strongest_joint_that_can_be_relied_on(made) -> None:
    page = text_of(results_page(made.publication_of(mounts=())))
    assert (
        "Of 2 combinations pulled, yellow glue on maple can be relied on for the most under a pry: 1.5 MPa, which 95 % "
        "of such joints exceed, said with 95 % confidence."
    ) in page


def test_without_any_bound_nothing_can_be_relied_on(made) -> None:
    strengths = (made.strength_of(made.MAPLE, bound_mpa=None),)
    assert "Nothing can be relied on yet" in text_of(results_page(made.publication_of(mounts=(), strengths=strengths)))


def test_whatever_a_shop_wrote_is_shown_as_text(made) -> None:
    hostile = Combination(HOSTILE, HOSTILE, HOSTILE)
    finding = Finding(FindingCode.NEAR_CAP, Severity.QUESTION, HOSTILE)
    publication = made.publication_of(
        title=HOSTILE,
        question=HOSTILE,
        shop=HOSTILE,
        provenance=HOSTILE,
        licence=HOSTILE,
        pulls_file=HOSTILE,
        pulls=(made.pull_of(HOSTILE, combination=hostile, lower=1.0, upper=1.0, notes=HOSTILE, findings=(finding,)),),
        strengths=(made.strength_of(hostile, bound_mpa=0.5, findings=(finding,)),),
        plots=(replace(made.plot_of(), combination=hostile),),
        mounts=(made.mount_of(name=HOSTILE),),
    )
    page = results_page(publication)
    soup = BeautifulSoup(page, "html5lib")
    html5lib.HTMLParser(strict=True).parse(page)
    (data,) = soup.find_all("script")
    assert json.loads(data.string)["name"] == HOSTILE
    assert not soup.find_all("img")
    assert not [element for element in soup.find_all(True) if any(name.startswith("on") for name in element.attrs)]
    assert soup.title.get_text() == HOSTILE
    assert soup.h1.get_text() == HOSTILE
    assert "49" not in soup.h1.get_text()
    assert all(link["href"].startswith("%3Cscript%3E") for link in soup.find_all("a"))


def test_a_name_in_letters_the_font_lacks_spoils_no_figure(made) -> None:
    odd = Combination("\N{BICYCLE}\u6f22\u5b57" * 30, "maple")
    strengths = (made.strength_of(odd, bound_mpa=0.5),)
    pulls = (made.pull_of("1", combination=odd, lower=1.0, upper=1.0),)
    page = results_page(made.publication_of(pulls=pulls, strengths=strengths, plots=(), mounts=()))
    assert "\u6f22\u5b57" in page


def test_the_same_publication_gives_the_same_page_to_the_byte(page, made) -> None:
    assert results_page(made.publication_of()) == page


def test_beyond_five_hundred_pulls_the_page_shows_the_first_and_points_to_the_file(made) -> None:
    pulls = tuple(made.pull_of(str(number), lower=3.0, upper=3.0) for number in range(MOST_PULLS + 1))
    page = results_page(made.publication_of(pulls=pulls, plots=(), mounts=(), pulls_file="pulls.csv"))
    assert "The first 500 of 501; all of them are in pulls.csv." in text_of(page)
    assert len(BeautifulSoup(page, "html5lib").select(".pulls tbody tr")) == 500


def test_more_plots_than_a_page_bears_are_counted_not_drawn(made, monkeypatch) -> None:
    monkeypatch.setattr("jointlab.publish.page.MOST_PLOTS", 1)
    plots = (made.plot_of(),) * 3
    page = results_page(made.publication_of(plots=plots, mounts=()))
    assert "2 more plots not shown." in text_of(page)


def test_the_section_through_the_mount_names_the_link_that_governs(soup) -> None:
    told = [element["aria-label"] for element in soup.find_all(attrs={"role": "img"})]
    (section,) = [label for label in told if label.startswith("The mount from the side")]
    assert "A ringed cross marks the link that governs: glue line." in section


def test_other_sizes_are_drawn_and_tabled_where_they_were_asked(made, page) -> None:
    assert "If it were otherwise" not in page
    point = OperatingPoint(100.0, 1299.0, 950.0, practice_rpm=900.0)
    line = OperatingLine(EnvelopeAxis.JOINT_DIAMETER, Tailstock.NONE, (point,))
    with_lines = replace(made.mount_of(), envelope=(line,))
    told = results_page(made.publication_of(mounts=(with_lines,)))
    html5lib.HTMLParser(strict=True).parse(told)
    shown = text_of(told)
    assert "If the joint were otherwise (* above what the trade turns at)" in shown
    assert "100 1290 950 * 900" in shown


def test_cautions_of_several_mounts_are_said_once(made) -> None:
    page = text_of(results_page(made.publication_of(mounts=(made.mount_of(), made.mount_of(name="dish")))))
    assert page.count("Stand clear of the plane.") == 1
    assert "Of 2 mounts asked about, this is the first" in page


def test_an_empty_publication_is_still_a_page(made) -> None:
    page = results_page(made.publication_of(pulls=(), strengths=(), mounts=(), plots=(), methods=()))
    html5lib.HTMLParser(strict=True).parse(page)
    assert "What do these joints hold?" in text_of(page)
