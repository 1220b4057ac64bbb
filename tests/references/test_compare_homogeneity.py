"""Outliers, shares of variance and batches against published numbers; data files lie in data/."""

import csv
from pathlib import Path

import numpy as np
import pytest

from jointlab.compare.batch_bound import BatchMoments, anova_bound, generalised_bound
from jointlab.compare.homogeneity import largest_residual, share_of_groups
from jointlab.strength.noncentral_t import percentile_bound
from jointlab.strength.outlier import critical_residual

DATA = Path(__file__).parent / "data"


def column(name: str, group: str, value: str) -> tuple[np.ndarray, np.ndarray]:
    with (DATA / name).open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    numbers = np.unique([row[group] for row in rows], return_inverse=True)[1]
    return np.array([float(row[value]) for row in rows]), numbers.astype(np.int64)


def test_grubbs_g_agrees_with_the_nist_handbook() -> None:
    # NIST e-Handbook 1.3.5.17.1, eight masses: G 2.4687, the largest (2.46876: cut, not rounded). One-sided 5 %
    # critical value of eight: 2.0317 (computed reference, four decimals).
    masses = np.array([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
    place, g = largest_residual(masses)
    assert place == 7
    assert g == pytest.approx(2.4687, abs=1e-4)
    assert critical_residual(8, doubt=0.10) == pytest.approx(2.0317, abs=5e-5)


def test_the_largest_normed_residual_has_its_critical_values() -> None:
    # Computed reference, 5 %, n 3 .. 10, three decimals.
    printed = [1.154, 1.481, 1.715, 1.887, 2.020, 2.127, 2.215, 2.290]
    got = [critical_residual(n) for n in range(3, 11)]
    assert got == pytest.approx(printed, abs=5.1e-4)


def test_the_share_of_dyestuff_batches_is_that_of_its_components() -> None:
    # Davies, dyestuff yield, six batches of five: REML components 1764.05 between and 2451.25 within (two decimals);
    # for equal numbers those of the mean squares are the same.
    y, batch = column("lme4_dyestuff.csv", "Batch", "Yield")
    got = share_of_groups(y, cell=batch, parent=np.zeros_like(batch), confidence=0.95)
    assert got is not None
    assert got.share.value == pytest.approx(1764.05 / (1764.05 + 2451.25), abs=2e-6)
    assert got.ratio.value == pytest.approx((1764.05 / 2451.25) ** 0.5, abs=2e-6)


def test_the_batches_of_vangel_have_his_bounds_and_ignoring_batches_has_another() -> None:
    # Vangel (1992), five batches of five: SSB 4163.36, SSE 1578.40 (two decimals). 90/95 lower bound by the formula of
    # CMH-17 338.046, by a generalised variable 337.71, without batches 359.929 (computed references).
    y, batch = column("vangel1992_batches.csv", "batch", "y")
    moments = BatchMoments.of(y, batch)
    assert moments.between * 4 == pytest.approx(4163.36, abs=5e-3)
    assert moments.within * 20 == pytest.approx(1578.40, abs=5e-3)
    asked = {"coverage": 0.90, "confidence": 0.95}
    assert anova_bound(moments, **asked) == pytest.approx(338.046, abs=5e-4)
    # Twenty seeds of 100,000 draws scatter by 0.25 around 337.7.
    drawn = generalised_bound(moments, rng=np.random.default_rng(1), **asked)
    assert drawn == pytest.approx(337.71, abs=0.8)
    ignored = percentile_bound(y, **asked)
    assert ignored == pytest.approx(359.929, abs=5e-4)
    assert ignored > anova_bound(moments, **asked) + 20
