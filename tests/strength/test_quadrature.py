import math

import numpy as np
import pytest

from jointlab.strength.quadrature import panels, rising_root


def test_panels_integrate_a_polynomial_and_a_bell() -> None:
    x, weight = panels([0.0, 1.0, 3.0])
    assert float((weight * x**7).sum()) == pytest.approx(3**8 / 8, rel=1e-14)
    x, weight = panels([-9.0, -3.0, 0.0, 3.0, 9.0])
    assert float((weight * np.exp(-x * x / 2)).sum()) == pytest.approx(math.sqrt(2 * math.pi), rel=1e-14)


@pytest.mark.parametrize("start", [(0.0, 1.0), (8.0, 9.0), (0.0, 3.0)])
def test_a_root_is_found_wherever_the_search_starts(start: tuple[float, float]) -> None:
    assert rising_root(lambda x: math.expm1(x - 2.5), *start) == pytest.approx(2.5, rel=1e-13)
