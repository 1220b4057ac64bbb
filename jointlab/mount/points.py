"""The few points (speed, radius) at which a demand can be largest.

Speed runs from min(base, chosen) to chosen, radius from the least radius cut to the rim. Every stress, and every norm
of stresses that an interaction rule takes, is made of these parts: the force F, F x arm(R), F x R, omega^2. Where
neither the cap of the lathe nor the drive's torque changes hands, each is convex along speed, along radius, and along
the curves where one of them does change hands:

- the drive's torque falls as 1/omega, the stopping force grows as omega^2: both convex;
- arm(R) is a norm of affine functions of R, hence convex and rising, and arm(R)/R is convex;
- the cap meets the class along R = kP/(omega (F - c omega^2)), the reciprocal of a concave function: convex in omega;
- the torque meets the class along omega R = kP/F, where omega^2 = const/R^2: convex in R.

A convex function on an interval is largest at an end. So the largest demand lies where those curves meet the edges of
the range, or at its corners: fourteen points for a catch. A test holds this against a dense grid.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from jointlab.mount.loads import (
    LEAST_RADIUS_MM,
    angular_speed_rad_s,
    drive_torque_nmm,
    peak_power_nmm_s,
    stopping_n,
    stopping_stiffness,
)
from jointlab.mount.setup import MountSetup
from jointlab.mount.shape import shape_of

_RPM = 60.0 / (2.0 * np.pi)


@dataclass(frozen=True, slots=True)
class Points:
    """Points of a case: float64 arrays, the points on the first axis, the setup's own arrays behind.

    Many points share one radius: ``radii_mm`` holds each radius once and ``radius_row`` which of them each point has,
    so that what depends on the radius alone is computed once for each.
    """

    speed_rpm: npt.NDArray[np.float64]
    radius_mm: npt.NDArray[np.float64]
    radii_mm: tuple[npt.NDArray[np.float64], ...] = ()
    radius_row: tuple[int, ...] = ()

    def over_radii(self, of_radius: Callable[[Any], Any]) -> Any:
        """A function of the radius alone, at every point."""
        if not self.radii_mm:
            return of_radius(self.radius_mm)
        rows = [of_radius(radius_mm) for radius_mm in self.radii_mm]
        if self.speed_rpm.ndim == 1:  # one mount
            return np.array([float(rows[row]) for row in self.radius_row])
        return np.stack([np.broadcast_to(rows[row], self.speed_rpm.shape[1:]) for row in self.radius_row])


@dataclass(frozen=True, slots=True)
class _Range:
    slow: Any
    fast: Any
    near: Any
    rim: Any

    def speed(self, speed_rpm: Any) -> Any:
        return np.clip(speed_rpm, self.slow, self.fast)

    def radius(self, radius_mm: Any) -> Any:
        return np.clip(radius_mm, self.near, self.rim)

    def corners(self) -> list[tuple[Any, Any]]:
        return [(speed, radius) for radius in (self.rim, self.near) for speed in (self.fast, self.slow)]


def _range_of(setup: MountSetup) -> _Range:
    rim_mm = np.asarray(setup.blank.diameter_mm, dtype=np.float64) / 2.0
    fast_rpm = np.asarray(setup.lathe.speed_rpm, dtype=np.float64)
    return _Range(
        slow=np.minimum(setup.lathe.base_rpm, fast_rpm),
        fast=fast_rpm,
        near=np.minimum(np.maximum(setup.work.min_radius_mm, LEAST_RADIUS_MM), rim_mm),
        rim=rim_mm,
    )


def _points(pairs: list[tuple[Any, Any]], shape: tuple[int, ...]) -> Points:
    """Points of these pairs, each of the setup's whole shape, so that the first axis is always that of the points."""
    speeds, radii = _stacked([speed for speed, _ in pairs], shape), _stacked([radius for _, radius in pairs], shape)
    once = {id(radius): radius for _, radius in pairs}
    rows = tuple(list(once).index(id(radius)) for _, radius in pairs)
    return Points(speeds, radii, tuple(np.asarray(radius, dtype=np.float64) for radius in once.values()), rows)


def _stacked(each: list[Any], shape: tuple[int, ...]) -> npt.NDArray[np.float64]:
    if shape == ():  # one mount, the usual question: nothing to broadcast
        return np.array([float(one) for one in each])
    return np.stack([np.broadcast_to(one, shape) for one in each], dtype=np.float64)


def catch_points(setup: MountSetup, *, class_force_n: Any) -> Points:
    """Points among which a catch of a class, capped by the lathe, asks the most."""
    span = _range_of(setup)
    pairs = span.corners()
    for radius in (span.rim, span.near):
        rising, falling = _cap_speeds_rpm(setup, class_force_n, radius)
        drive = _drive_speed_rpm(setup, class_force_n, radius)
        pairs += [(span.speed(speed), radius) for speed in (drive, rising, falling)]
    for speed in (span.fast, span.slow):
        torque_nmm = drive_torque_nmm(setup, speed_rpm=speed)
        left_n = class_force_n - stopping_n(setup, speed_rpm=speed)
        capped_mm = np.where(left_n > 0.0, torque_nmm / np.where(left_n > 0.0, left_n, 1.0), span.rim)
        pairs += [(speed, span.radius(torque_nmm / class_force_n)), (speed, span.radius(capped_mm))]
    return _points(pairs, shape_of(setup))


def free_points(setup: MountSetup, *, force_n: Any) -> Points:
    """Points among which a catch of a force set freely, not capped by the lathe, asks the most."""
    span = _range_of(setup)
    force = np.maximum(force_n, 1e-9)
    pairs = span.corners()
    pairs += [(span.speed(_drive_speed_rpm(setup, force, radius)), radius) for radius in (span.rim, span.near)]
    for speed in (span.fast, span.slow):
        pairs.append((speed, span.radius(drive_torque_nmm(setup, speed_rpm=speed) / force)))
    return _points(pairs, np.broadcast_shapes(shape_of(setup), np.shape(force)))


def cut_points(setup: MountSetup) -> Points:
    """Points among which a steady cut asks the most: its power bound P/(omega R) meets the cut's force."""
    span = _range_of(setup)
    pairs = span.corners()
    power_nmm_s = 1000.0 * setup.lathe.motor_w
    pairs += [
        (span.speed(power_nmm_s / (setup.assumptions.cut_n * radius) * _RPM), radius)
        for radius in (span.rim, span.near)
    ]
    for speed in (span.fast, span.slow):
        pairs.append((speed, span.radius(power_nmm_s / (setup.assumptions.cut_n * angular_speed_rad_s(speed)))))
    return _points(pairs, shape_of(setup))


def spin_points(setup: MountSetup) -> Points:
    """The one point of free spinning: the chosen speed; no tool touches, the radius is the rim."""
    span = _range_of(setup)
    return _points([(span.fast, span.rim)], shape_of(setup))


def rest_points(setup: MountSetup) -> Points:
    """The one point at rest: no speed."""
    span = _range_of(setup)
    return _points([(np.zeros_like(span.fast), span.rim)], shape_of(setup))


def _drive_speed_rpm(setup: MountSetup, force_n: Any, radius_mm: Any) -> Any:
    """Speed above which a force at a radius asks more torque than the drive has."""
    return peak_power_nmm_s(setup) / (force_n * radius_mm) * _RPM


def _cap_speeds_rpm(setup: MountSetup, force_n: Any, radius_mm: Any) -> tuple[Any, Any]:
    """The two speeds between which the lathe cannot deliver a force at a radius.

    Roots of c omega^3 - F omega + kP/R = 0 by Viete's cosines. Where there are none the force is always delivered; the
    double root is given then, a point like any other.
    """
    stiff = stopping_stiffness(setup)
    driven = peak_power_nmm_s(setup) / radius_mm
    turn = np.arccos(np.clip(-1.5 * driven / force_n * np.sqrt(3.0 * stiff / force_n), -1.0, 1.0)) / 3.0
    size = 2.0 * np.sqrt(force_n / (3.0 * stiff))
    return size * np.cos(turn - 2.0 * np.pi / 3.0) * _RPM, size * np.cos(turn) * _RPM
