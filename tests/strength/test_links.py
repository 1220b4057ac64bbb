import math
import warnings

import numpy as np
import pytest
from scipy import stats
from statsmodels.duration.survfunc import SurvfuncRight

from jointlab.record.vocabulary import BrokeAt
from jointlab.strength import Family
from jointlab.strength.links import LinkChain, links_of, log_holds
from jointlab.stress.joint_stress import JointStress

GLUE = [2.0, 2.9, 3.4, 3.9, 4.6]
WOOD = [3.1, 3.7, 4.0, 4.2]
CAP = 5.0


def stress(lower: float, upper: float | None, place: BrokeAt | None, number: int = 0) -> JointStress:
    return JointStress("b1", f"s{number}", lower, upper, 0.0, broke_at=place, handled=lower == 0.0)


def pulls() -> list[JointStress]:
    broke = [stress(x, x, BrokeAt.GLUE_LINE) for x in GLUE] + [stress(x, x, BrokeAt.SUBSTRATE) for x in WOOD]
    return [*broke, stress(CAP, None, None), stress(CAP, None, None)]


def chain() -> LinkChain:
    found = links_of(pulls())
    assert found is not None
    return found


def test_each_link_is_fitted_with_the_pulls_that_broke_elsewhere_as_held() -> None:
    # Reference: scipy's censored fit of a Weibull distribution with its location held at zero.
    for link, own, other in zip(chain().links, (GLUE, WOOD), (WOOD, GLUE), strict=True):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            shape, _, scale = stats.weibull_min.fit(stats.CensoredData(own, right=[*other, CAP, CAP]), floc=0.0)
        assert dict(link.fit.parameters)["shape"] == pytest.approx(shape, rel=1e-3)
        assert dict(link.fit.parameters)["scale_mpa"] == pytest.approx(scale, rel=1e-3)
    assert [(link.broke_at, link.broke) for link in chain().links] == [(BrokeAt.GLUE_LINE, 5), (BrokeAt.SUBSTRATE, 4)]


def test_the_chain_holds_what_all_links_hold_and_lies_near_the_curve_of_the_joints() -> None:
    # Reference: the joints' Kaplan-Meier curve is the product of those of the links (no ties), by statsmodels.
    times = np.array([*GLUE, *WOOD, CAP, CAP])
    places = np.array([1] * 5 + [2] * 4 + [0, 0])
    whole = SurvfuncRight(times, places > 0)
    found = chain()
    fits = tuple(link.fit for link in found.links)
    product = []
    for time, survival in zip(whole.surv_times, whole.surv_prob, strict=True):
        each = 1.0
        for place in (1, 2):
            alone = SurvfuncRight(times, places == place)
            before = alone.surv_times <= time
            each *= float(alone.surv_prob[before][-1]) if before.any() else 1.0
        assert each == pytest.approx(survival, rel=1e-12)
        product.append(abs(math.exp(log_holds(fits, float(time))) - survival))
    assert max(product) < 0.15
    assert found.chain_mpa is not None
    assert log_holds(fits, found.chain_mpa) == pytest.approx(math.log(0.95), rel=1e-6)


def test_links_of_one_shape_make_the_joint_itself_and_the_sentence_says_that_they_agree() -> None:
    # With one shape the chain's scale is (sum of scale^-shape)^(-1/shape): nothing is lost by taking it apart.
    rng = np.random.default_rng(3)
    glue, wood = 4.0 * rng.weibull(6.0, 400), 4.4 * rng.weibull(6.0, 400)
    found = links_of(
        [
            stress(min(g, w), min(g, w), BrokeAt.GLUE_LINE if g < w else BrokeAt.BLANK)
            for g, w in zip(glue, wood, strict=True)
        ]
    )
    assert found is not None
    assert found.chain_mpa == pytest.approx(found.joint_mpa, rel=0.03)
    assert found.farthest is not None
    assert found.farthest < 0.01
    assert found.sentence.endswith("they agree.")
    assert "from its 2 links" in found.sentence


SCATTERED = [stress(x, x, BrokeAt.GLUE_LINE) for x in (0.5, 0.6, 3.9, 4.0, 4.1)]
LATE = [stress(x, x, BrokeAt.SUBSTRATE) for x in (4.9, 5.0, 5.05, 5.1, 5.12, 5.15)]


@pytest.mark.parametrize("family", [Family.NORMAL, Family.LOGNORMAL, Family.WEIBULL])
def test_a_chain_that_differs_from_the_joints_own_fit_is_said_to(family: Family) -> None:
    found = links_of([*SCATTERED, *LATE], family=family)
    assert found is not None
    assert found.chain_mpa is not None
    assert found.joint_mpa is not None
    assert abs(found.chain_mpa / found.joint_mpa - 1.0) > 0.10
    assert found.sentence.endswith("they do not agree.")


def test_a_percentile_below_zero_is_not_told() -> None:
    found = links_of([*SCATTERED, *LATE], family=Family.GUMBEL_MIN)
    assert found is not None
    assert found.chain_mpa is None
    assert found.farthest is None
    assert "below zero" in found.sentence


def test_a_step_elsewhere_held_its_lower_end_and_a_handled_joint_elsewhere_says_nothing() -> None:
    steps = [stress(3.0, 3.5, BrokeAt.SUBSTRATE), stress(0.0, 0.2, BrokeAt.SUBSTRATE)]
    as_held = [stress(3.0, None, None)]
    glue = [stress(x, x, BrokeAt.GLUE_LINE) for x in GLUE]
    with_steps, with_held = links_of([*glue, *steps]), links_of([*glue, *as_held])
    assert with_steps is not None
    assert with_held is not None
    assert with_steps.links[0].fit.parameters == with_held.links[0].fit.parameters


def test_breaks_whose_place_nobody_noted_are_a_link_of_their_own() -> None:
    found = links_of([*pulls(), stress(3.3, 3.3, None), stress(3.6, 3.6, None)])
    assert found is not None
    assert [link.name for link in found.links] == ["glue line", "substrate", "place not noted"]


def test_too_few_breaks_of_a_link_leave_no_chain_and_one_place_is_one_link() -> None:
    one = links_of([stress(x, x, BrokeAt.GLUE_LINE) for x in GLUE])
    assert one is not None
    assert one.sentence == "Every joint that broke let go at one place (glue line): the chain has one link."
    lone = links_of([*(stress(x, x, BrokeAt.GLUE_LINE) for x in GLUE), stress(6.0, 6.0, BrokeAt.PAPER)])
    assert lone is not None
    assert lone.chain_mpa is None
    assert "Too few breaks to fit paper" in lone.sentence
    assert links_of([stress(4.0, None, None)]) is None
