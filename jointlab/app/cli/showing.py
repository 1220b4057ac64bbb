"""Answers as tables on the terminal: plain, legible, told by word as well as by place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from jointlab.app.cli.receipts import show_findings
from jointlab.mount.assumptions import ASSUMPTIONS
from jointlab.mount.demand import ScrewDemand
from jointlab.sources import SOURCES

if TYPE_CHECKING:
    from jointlab.app.demonstration import DemoRun
    from jointlab.app.foretelling import Foretold
    from jointlab.app.workflow import Decision
    from jointlab.book.stored import PullRevision
    from jointlab.mount.demand import LinkDemand, MountDemand
    from jointlab.mount.envelope import Envelope
    from jointlab.mount.holds import HoldOption
    from jointlab.mount.setup import MountSetup
    from jointlab.strength.shares import GlueUps
    from jointlab.strength.values import CombinationStrength
    from jointlab.verdict.operating import OperatingLine
    from jointlab.verdict.values import LinkVerdict, Verdict

NARROWEST = 100


def console() -> Console:
    """The terminal, or a page wide enough for the tables when the output goes to a file."""
    out = Console(highlight=False)
    return out if out.is_terminal else Console(highlight=False, width=max(out.width, NARROWEST))


def table_of(title: str, *columns: str, numbers: Iterable[str] = ()) -> Table:
    """An empty table; the named columns hold numbers."""
    table = Table(
        title=title, title_justify="left", box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0)
    )
    for column in columns:
        table.add_column(column, justify="right" if column in set(numbers) else "left")
    return table


def shown(value: float | None, digits: int = 3) -> str:
    """A number to so many digits in plain decimals, a dash where there is none."""
    if value is None:
        return "-"
    told = f"{value:.{digits}g}"
    return f"{float(told):.0f}" if "e+" in told else told


def add(table: Table, *cells: str) -> None:
    """A row of plain text: what a shop wrote is never read as markup."""
    table.add_row(*(Text(cell) for cell in cells))


def show_history(revisions: Sequence[PullRevision]) -> None:
    """Every revision of a pull with what changed."""
    from jointlab.record.row import row_of

    table = table_of(f"Pull {revisions[0].pull_id}", "revision", "at", "by", "why", "what", numbers=["revision"])
    before: dict[str, object] = {}
    for revision in revisions:
        now = row_of(revision.pull).model_dump()
        changed = [_change(name, before.get(name), value) for name, value in now.items() if before.get(name) != value]
        add(
            table,
            str(revision.revision),
            revision.recorded_at[:19],
            revision.by or "-",
            revision.reason or "first record",
            "; ".join(changed) if before else "-",
        )
        before = now
    console().print(table)


def _change(name: str, before: object, now: object) -> str:
    """A cell as it was and is, its numbers to as few digits as tell them apart."""
    if isinstance(before, float) and isinstance(now, float) and f"{before:.6g}" != f"{now:.6g}":
        return f"{name}: {before:.6g} -> {now:.6g}"
    return f"{name}: {_said(before)} -> {_said(now)}"


def _said(cell: object) -> str:
    return "blank" if cell is None else str(cell)


def show_strengths(strengths: Sequence[CombinationStrength]) -> None:
    """What each combination can be relied on for, then what should be known of each."""
    out = console()
    if not strengths:
        out.print("There are no pulls of that kind in the shop book.")
        return
    first = strengths[0].working_bound
    table = table_of(
        f"Strength relied on: {first.coverage:.0%} of joints exceed it, said with {first.confidence:.0%} confidence",
        "combination",
        "action",
        "pulls",
        "broke",
        "held",
        "batches",
        "bound MPa",
        "at most MPa",
        numbers=["pulls", "broke", "held", "batches", "bound MPa", "at most MPa"],
    )
    for found in strengths:
        working = found.working_bound
        add(
            table,
            str(found.combination),
            found.action,
            str(found.n),
            str(found.n_broke),
            str(found.n_held),
            str(found.batches),
            shown(working.bound_mpa),
            shown(working.upper_mpa),
        )
    out.print(table)
    for found in strengths:
        findings = (*found.findings, *found.working_bound.findings)
        if findings:
            print(f"\n{found.combination}, {found.action}")
            show_findings(dict.fromkeys(findings), indent="  ")
    if len(strengths) == 1:
        _show_one_strength(strengths[0])


def show_foretold(foretold: Sequence[Foretold]) -> None:
    """The chance that the next joints hold a stress, and what the glue-ups say."""
    for told in foretold:
        print(f"\n{told.combination}, {told.action}")
        if told.prediction is None:
            print("  Too few breaks to foretell anything.")
            continue
        chance = told.prediction
        print(f"  Chance that the next joint holds {chance.stress_mpa:g} MPa: {chance.next_holds:.1%}")
        if chance.following > 1:
            print(f"  that all of the next {chance.following}, of one new glue-up, do: {chance.all_hold:.1%}")
        if told.glue_ups is not None:
            _show_glue_ups(told.glue_ups)


def _show_glue_ups(shares: GlueUps) -> None:
    low = "0" if shares.ratio.low is None else f"{shares.ratio.low:.2g}"
    high = "without limit" if shares.ratio.high is None else f"{shares.ratio.high:.2g}"
    print(
        f"  Spread of ln strength within glue-ups {shares.within:.3f}, between them {shares.between:.3f}: ratio "
        f"{shares.ratio.value:.2g} ({shares.confidence:.0%} interval {low} to {high})"
    )
    if shares.bound_now_mpa is not None:
        print(
            "  One more glue-up of the usual size would, the same spread seen, move the bound over glue-ups from "
            f"{shown(shares.bound_now_mpa)} to {shown(shares.bound_with_one_more_mpa)} MPa"
        )


def _show_one_strength(found: CombinationStrength) -> None:
    fits = table_of("Families", "family", "parameters", "log-likelihood", "AICc", numbers=["log-likelihood", "AICc"])
    for fit in found.families:
        parameters = ", ".join(f"{name} {value:.4g}" for name, value in fit.parameters)
        add(fits, fit.family, parameters or fit.ill or "-", shown(fit.log_likelihood, 6), shown(fit.aicc, 6))
    bounds = table_of(
        "Bounds", "method", "family", "bound MPa", "simulation error", "why there is none",
        numbers=["bound MPa", "simulation error"],
    )  # fmt: skip
    for bound in found.bounds:
        error = "-" if bound.monte_carlo_error is None else f"{bound.monte_carlo_error:.1%}"
        add(bounds, bound.method, bound.family or "-", shown(bound.bound_mpa, 4), error, bound.why_none or "-")
    out = console()
    for table in (fits, bounds):
        out.print()
        out.print(table)


def show_mount(demand: MountDemand) -> None:
    """Cases, then links, then findings."""
    cases = table_of(
        "Load cases, each at its worst speed and radius",
        "case",
        "moment N m",
        "side N",
        "torque N m",
        "away N",
        "tension MPa",
        "shear MPa",
        numbers=["moment N m", "side N", "torque N m", "away N", "tension MPa", "shear MPa"],
    )
    for case in demand.cases:
        actions, stress = case.actions, case.stress
        add(
            cases,
            case.case,
            shown(float(actions.moment_nmm) / 1000),
            shown(float(actions.shear_n)),
            shown(float(actions.torque_nmm) / 1000),
            shown(float(actions.axial_n)),
            shown(float(stress.tension_mpa)),
            shown(float(stress.shear_mpa)),
        )
    links = table_of("What each link must carry", "link", "case", "demand")
    for link in demand.links:
        add(links, link.link, link.case, _demand_words(link))
    out = console()
    out.print(cases)
    out.print()
    out.print(links)
    if demand.findings:
        print()
        show_findings(demand.findings)


def show_holds(options: Sequence[HoldOption]) -> None:
    """Ways to hold the blank side by side, then what the trade says of each."""
    table = table_of("Should it be glued at all?", "way", "judged by", "margin", "what rates it", numbers=["margin"])
    for option in options:
        add(table, option.name, option.footing, shown(option.margin), option.rated_by)
    out = console()
    out.print()
    out.print(table)
    for option in options:
        _show_lines(option.name, option.cautions)


def show_assumptions(setup: MountSetup) -> None:
    """What the demand rests on beside the mount itself: each value with its range, its standing and its reason."""
    columns = ("assumption", "value", "could be", "standing", "set by")
    table = table_of("What the demand rests on", *columns, numbers=["value"])
    for assumption in ASSUMPTIONS:
        could_be = f"{assumption.low:g} to {assumption.high:g}"
        standing = SOURCES[assumption.source].standing
        key = f"factors.{assumption.key}" if assumption.key else "the mount"
        add(table, assumption.name, f"{float(assumption.value(setup)):g}", could_be, standing, key)
    out = console()
    out.print()
    out.print(table)


def show_asked(envelopes: Sequence[Envelope], setup: MountSetup) -> None:
    """A table for each size that varies: what the chosen catch asks of the glue line, by tailstock."""
    from jointlab.mount.actions import CASE_OF_CATCH
    from jointlab.mount.demand import StressDemand
    from jointlab.publish.envelope_table import SIZE_WORDS

    out, case = console(), CASE_OF_CATCH[setup.criteria.catch]
    for each in envelopes:
        size = SIZE_WORDS[each.axis]
        asked = [f"{what}, {line.tailstock}" for line in each.lines for what in ("tension MPa", "shear MPa")]
        what = size.split(",")[0]
        title = f"What a {setup.criteria.catch} catch asks of the glue line if the {what} were otherwise, by tailstock"
        table = table_of(title, size, *asked, "trade's rpm", numbers=[size, *asked, "trade's rpm"])
        glued = [
            link.demand for line in each.lines for link in line.demand.links
            if link.link == "glue_line" and link.case is case and isinstance(link.demand, StressDemand)
        ]  # fmt: skip
        stresses = [stress for demand in glued for stress in (demand.tension_mpa, demand.shear_mpa)]
        for row, size_mm in enumerate(each.sizes_mm):
            cells = [shown(float(np.asarray(stress)[row, 0])) for stress in stresses]
            add(table, f"{size_mm:g}", *cells, f"{each.practice_rpm[1][row]:.0f}")
        out.print()
        out.print(table)


def show_envelope(lines: Sequence[OperatingLine]) -> None:
    """A table for each size that varies: grab stood and largest speed, without and with the tailstock."""
    from jointlab.publish.envelope_table import envelope_tables

    out = console()
    for each in envelope_tables(lines):
        table = table_of(each.caption, *each.head, numbers=each.head)
        for row in each.rows:
            add(table, *row)
        out.print()
        out.print(table)


def _demand_words(link: LinkDemand | LinkVerdict) -> str:
    asked = link.demand
    if isinstance(asked, ScrewDemand):
        return f"{float(asked.withdrawal_n):.0f} N withdrawal, {float(asked.shear_n):.0f} N shear on one screw"
    return f"{float(asked.tension_mpa):.3g} MPa tension, {float(asked.shear_mpa):.3g} MPa shear"


def show_decision(decision: Decision) -> None:
    """The sentence first, then links, reasons, what would settle it, scope, cautions."""
    from jointlab.verdict.sentence import grab_line, sentence_of

    verdict = decision.verdict
    out = console()
    out.print(Text(grab_line(verdict)))
    out.print(Text(f"{decision.name}: {sentence_of(verdict)}", style="bold"))
    out.print()
    out.print(_links_table(verdict))
    _show_lines("Why", verdict.reasons)
    _show_lines("What would settle it", [way.text for way in verdict.would_settle])
    _show_break_chance(decision)
    _show_factors(verdict)
    if verdict.findings:
        print("\nFindings")
        show_findings(verdict.findings, indent="  ")
    print(f"\nScope: {verdict.scope}")
    _show_lines("Cautions", verdict.cautions)


def _show_break_chance(decision: Decision) -> None:
    """The chance of a break beside the margin, never in its place."""
    from jointlab.verdict.interference import break_chance

    chance = None if decision.evidence is None else break_chance(decision.setup, decision.evidence)
    if chance is not None:
        print(f"\nBeside the margin: the chance that the glue line breaks is {chance.told}.")


def _links_table(verdict: Verdict) -> Table:
    table = table_of(
        f"Links (margin required {verdict.margin_required:g})",
        "link",
        "case",
        "demand",
        "margin",
        "at most",
        "basis",
        numbers=["margin", "at most"],
    )
    for link in verdict.links:
        governs = " <- governs" if link.link == verdict.governing_link else ""
        add(
            table,
            link.link + governs,
            link.case,
            _demand_words(link),
            shown(link.margin_lower),
            shown(link.margin_upper),
            link.basis,
        )
    return table


def _show_factors(verdict: Verdict) -> None:
    changed = [factor for factor in verdict.factors if factor.value != 1.0 or factor.overridden]
    if changed:
        _show_lines(
            "Factors from test to service (the others are 1.0)",
            [f"{factor.name} {factor.value:.3g}: {factor.reason} [{factor.source.standing}]" for factor in changed],
        )


def _show_lines(title: str, lines: Iterable[str]) -> None:
    listed = list(lines)
    if listed:
        print(f"\n{title}")
        for line in listed:
            print(f"  - {line}")


def show_demo(run: DemoRun) -> None:
    """The whole job, step by step, and where its files are."""
    from jointlab.verdict.sentence import sentence_of

    print("All of this is invented data, to show the way the work goes.\n")
    show_strengths(run.strengths)
    print()
    for decision in run.decisions:
        print(f"{decision.name}: {decision.verdict.verdict.upper()}. {sentence_of(decision.verdict)}\n")
    print(f"Shop book: {run.book}")
    print(f"Pulls:     {run.pulls}")
    print(f"Page:      {run.page}")
    print(f"Next:      jointlab decide {run.mounts[0]} --book {run.book}")
