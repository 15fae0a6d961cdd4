"""Where a run holds liquid: dips, rims, and the tank's surface behind an end."""

from __future__ import annotations

from fuelsys.graph import Pocket, Polyline


def run(*points: tuple[float, float]) -> Polyline:
    return Polyline(tuple(s for s, _ in points), tuple(z for _, z in points))


def test_a_rising_run_holds_nothing() -> None:
    r"""/"""
    assert run((0, 0), (5, 2)).pockets() == ()


def test_a_crest_holds_nothing() -> None:
    r"""/\ """
    assert run((0, 0), (5, 2), (9, 1)).pockets() == ()


def test_a_level_run_holds_nothing() -> None:
    """____"""
    assert run((0, 1), (5, 1)).pockets() == ()


def test_a_sag_holds_to_its_lower_rim() -> None:
    r"""\  /  the start at 3, the sag at 1, the end at 5"""
    assert run((0, 3), (2, 1), (6, 5)).pockets() == (Pocket(0, 4.0, 3),)


def test_two_sags_hold_each_to_its_own_rim() -> None:
    r"""\/\/  the start at 2, the crest between the sags at 3, the end at 5"""
    pockets = run((0, 2), (2, 0), (5, 3), (7, 1), (11, 5)).pockets()
    assert pockets == (Pocket(0, 4.0, 2), Pocket(5, 9.0, 3))


def test_a_crest_below_both_rims_is_under() -> None:
    r"""\/\/  the start at 3, the crest at 2, the end at 4: one pool to 3"""
    assert run((0, 3), (2, 0), (4, 2), (5, 1), (8, 4)).pockets() == (Pocket(0, 7.0, 3),)


def test_a_submerged_end_holds_to_the_surface_and_a_sag_beyond_to_its_crest() -> None:
    r"""surface at 1;  start at 0, crest at 2, sag at -1, end at 3"""
    pockets = run((0, 0), (2, 2), (5, -1), (9, 3)).pockets(start_rim_m=1.0)
    assert pockets == (Pocket(0, 1.0, 1.0), Pocket(2, 8.0, 2))


def test_a_rim_further_on_raises_the_level() -> None:
    r"""\_  the end at 0, but the next hose rises to 2"""
    assert run((0, 3), (3, 0)).pockets(end_rim_m=2.0) == (Pocket(1.0, 3, 2.0),)
    assert run((0, 3), (3, 0)).pockets() == ()


def test_a_vertical_point_pair_is_passed_over() -> None:
    assert run((0, 1), (0, 3), (2, 2), (4, 3)).pockets() == (Pocket(0, 4, 3),)
