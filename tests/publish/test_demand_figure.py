from __future__ import annotations

from dataclasses import replace

from jointlab.mount.demand import Case, MountDemand
from jointlab.mount.setup import CatchClass
from jointlab.publish.demand_figure import asked, demand_figure, demand_panels


def test_each_link_has_a_panel_for_each_kind_of_demand(made) -> None:
    panels = demand_panels(made.mount_of())
    assert [(panel.title, panel.relied_on) for panel in panels] == [
        ("glue line: tension, MPa", 1.96),
        ("glue line: shear, MPa", 2.1),
        ("screws: pulled out, N a screw", 4170.0),
    ]
    assert dict(panels[0].cases)[Case.CATCH_SEVERE] == 0.8
    assert dict(panels[2].cases)[Case.CUT] == 200.0


def test_links_that_are_asked_the_same_and_carry_the_same_share_a_panel(made) -> None:
    mount = made.mount_of()
    glue = [link for link in mount.demand.links if link.link == "glue_line"]
    links = (*(replace(link, link="block") for link in glue), *mount.demand.links)
    verdict = replace(mount.verdict, links=(*mount.verdict.links, replace(mount.verdict.links[0], link="block")))
    panels = demand_panels(replace(mount, demand=MountDemand((), links), verdict=verdict))
    assert [panel.links for panel in panels] == [
        ("waste block", "glue line"),
        ("waste block", "glue line"),
        ("screws",),
    ]


def test_steady_cases_and_the_chosen_catch_are_asked_the_others_only_shown() -> None:
    answers = {case: asked(case, CatchClass.FIRM) for case in Case}
    assert answers == {
        Case.REST: True,
        Case.SPIN: True,
        Case.CUT: True,
        Case.CATCH_LIGHT: False,
        Case.CATCH_FIRM: True,
        Case.CATCH_SEVERE: False,
    }


def test_the_figure_changes_with_the_strength_and_not_from_one_drawing_to_the_next(made) -> None:
    mount = made.mount_of()
    weaker = replace(mount, verdict=replace(mount.verdict, links=()))
    assert demand_figure(mount) == demand_figure(mount)
    assert demand_figure(mount) != demand_figure(weaker)
