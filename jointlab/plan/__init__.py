"""Wishes to a test plan: how many specimens, in what order, on which rig."""

from jointlab.plan.bench_sheet import BenchSheet, bench_sheets, table_to_fill
from jointlab.plan.plan_tests import Terms, plan_tests
from jointlab.plan.progress import PlanProgress, progress_of
from jointlab.plan.values import Method, SeeDifference, ShowStrength, TestPlan

__all__ = [
    "BenchSheet",
    "Method",
    "PlanProgress",
    "SeeDifference",
    "ShowStrength",
    "Terms",
    "TestPlan",
    "bench_sheets",
    "plan_tests",
    "progress_of",
    "table_to_fill",
]
