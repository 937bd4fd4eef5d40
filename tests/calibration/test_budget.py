from __future__ import annotations

import math

import pytest

from strikebridge.calibration.budget import (
    combined_u,
    convolved_factor,
    coverage_factor,
    effective_dof,
    largest_first,
    t_factor,
)
from strikebridge.calibration.certificate import BudgetTerm


def test_nothing_is_nothing() -> None:
    assert combined_u([]) == 0.0
    assert effective_dof([]) == math.inf
    assert largest_first([]) == ()


def test_the_budget_reads_largest_first_without_its_zeros() -> None:
    terms = [BudgetTerm("a", 1.0), BudgetTerm("b", 0.0), BudgetTerm("c", 3.0)]
    assert [term.term for term in largest_first(terms)] == ["c", "a"]


def test_a_small_rectangle_leaves_the_normal_factor() -> None:
    terms = [BudgetTerm("plates", 1.0, shape="rectangular"), BudgetTerm("readings", 5.0)]
    assert coverage_factor(terms) == t_factor(math.inf)


def test_a_dominant_rectangle_needs_less() -> None:
    terms = [BudgetTerm("plates", 5.0, shape="rectangular"), BudgetTerm("gravity", 1.0)]
    k = coverage_factor(terms)
    assert 1.645 < k < 1.96
    assert k == pytest.approx(convolved_factor(5.0 * math.sqrt(3.0), 1.0))


def test_few_degrees_of_freedom_widen_the_rest_of_a_rectangle() -> None:
    many = [BudgetTerm("plates", 5.0, shape="rectangular"), BudgetTerm("readings", 2.0)]
    few = [many[0], BudgetTerm("readings", 2.0, dof=3.0)]
    assert coverage_factor(few) > coverage_factor(many)


@pytest.mark.parametrize("share", [1e-7, 1e-3, 0.1])
def test_the_convolved_factor_joins_the_rectangle(share: float) -> None:
    assert convolved_factor(1.0, share) == pytest.approx(0.95 * math.sqrt(3.0), rel=0.05)
