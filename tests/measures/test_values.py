"""Each measure computed a second way, its rules, and its edges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid
from scipy.signal import detrend

from strikebridge.measures import MeasureSettings, measure
from strikebridge.measures.passages import first_passage, last_fall
from strikebridge.measures.run import MEASURES
from strikebridge.measures.view import look
from strikebridge.samples import Effort, Flag, Floats, Hold, Prescription, Status
from tests.made_holds import ONSET_S, block_of, held, hold_of, snap, sure

FREE = Prescription()
THREE_S = Prescription(hold_s=3.0)


def wavy(since_s: Floats) -> Floats:
    swings = 1.0 + 0.02 * np.sin(2.0 * np.pi * 3.0 * since_s) - 0.01 * since_s
    return snap(since_s) * swings


def flagged(hold: Hold, at_s: float, flag: Flag) -> Hold:
    flags = hold.force.flags.copy()
    flags[np.searchsorted(hold.force.time_s, at_s)] = flag
    return replace(hold, force=replace(hold.force, flags=flags))


def test_peak_and_its_time() -> None:
    hold = held(wavy)
    values = measure(hold, FREE)
    time_s, force_N = hold.force.time_s, hold.force.force_N
    assert values["peak_force"].value == force_N.max()
    assert values["time_to_peak"].value == pytest.approx(
        time_s[np.argmax(force_N)] - ONSET_S, abs=1e-9
    )
    grid_s = np.linspace(ONSET_S, ONSET_S + 0.3, 300_001)
    fine_N = np.interp(grid_s, time_s, force_N)
    reached_s = grid_s[np.argmax(fine_N >= 0.9 * force_N.max())]
    assert values["time_to_90"].value == pytest.approx(reached_s - ONSET_S, abs=2e-6)


def test_steepest_20_ms_and_snap_share() -> None:
    values = measure(held(snap), FREE)
    # closed form: the first 20 ms are the steepest of an exponential approach
    assert values["peak_rfd"].value == pytest.approx(300.0 * (1 - np.exp(-0.4)) / 0.02)
    assert values["snap_share"].value == pytest.approx(
        100.0 * (1 - np.exp(-4.0)) / (1 - np.exp(-20.0)), rel=1e-6
    )


def test_impulse_of_the_hold_and_preload() -> None:
    hold = held(lambda since_s: 0.1 + snap(since_s), baseline_N=30.0, let_go_s=0.02)
    values = measure(hold, FREE)
    inside = (hold.force.time_s >= ONSET_S) & (hold.force.time_s <= sure(hold.release_s))
    area = trapezoid(hold.force.force_N[inside] - 30.0, hold.force.time_s[inside])
    assert values["impulse_hold"].value == pytest.approx(area, abs=0.15)  # up to one sample
    assert values["preload"].value == pytest.approx(30.0)


def test_hold_window_measures() -> None:
    hold = held(wavy)
    values = measure(hold, THREE_S)
    time_s, force_N = hold.force.time_s, hold.force.force_N
    peak_s = time_s[np.argmax(force_N)]
    inside = (time_s >= peak_s + 0.3 - 1e-9) & (time_s <= ONSET_S + 2.9 + 1e-9)
    about_N, about_s = force_N[inside], time_s[inside]
    assert values["hold_mean"].value == pytest.approx(about_N.mean(), rel=1e-9)
    assert values["steadiness"].value == pytest.approx(
        100.0 * detrend(about_N).std(ddof=1) / about_N.mean(), rel=1e-9
    )
    assert values["sag"].value == pytest.approx(
        100.0 * np.polyfit(about_s, about_N, 1)[0] / about_N.mean(), rel=1e-9
    )


def test_let_go() -> None:
    values = measure(held(snap, let_go_s=0.05), FREE)
    # exponential: 90 % to 10 % takes ln 9 time constants, 80 % is left after ln 1.25
    assert values["let_go_time"].value == pytest.approx(0.05 * np.log(9.0), abs=1e-4)
    assert values["held_time"].value == pytest.approx(3.0 + 0.05 * np.log(1.25), abs=1e-4)


def test_a_let_go_quicker_than_the_board_is_given_as_under() -> None:
    found = measure(held(snap, rate_hz=80.0, settling_s=0.05, let_go_s=0.005), FREE)[
        "let_go_time"
    ]
    assert found.status is Status.COARSE
    assert found.reason.startswith("under 50 ms")
    assert found.value == pytest.approx(0.025)
    # a rectangle from 0 to 50 ms, 95 % of it
    assert found.u95 == pytest.approx(0.95 * 0.025)


def test_let_go_withheld() -> None:
    unseen = measure(held(snap, release_s=None), FREE)["let_go_time"]
    assert unseen.reason == "the let-go was not seen"
    to_a_third = held(lambda since_s: snap(since_s) / 3.0 + 0.3 * (since_s > 0))
    lean = to_a_third.force.force_N + 30.0 * (to_a_third.force.time_s > 4.0)
    stays = replace(to_a_third, force=replace(to_a_third.force, force_N=lean))
    assert "a tenth" in measure(stays, FREE)["let_go_time"].reason
    never_above = replace(held(snap), release_s=ONSET_S + 1e-6, level_N=1e4)
    assert "told from the hold" in measure(never_above, FREE)["let_go_time"].reason


def test_reaction_needs_an_onset() -> None:
    values = measure(held(snap, go_s=1.0, onset_sure=False), FREE)
    assert "could not be seen" in values["reaction"].reason


def test_reaction_needs_a_fast_board() -> None:
    slow = measure(held(snap, rate_hz=10.0, go_s=ONSET_S - 0.2), FREE)["reaction"]
    assert slow.value is None
    assert "too slow" in slow.reason


def test_reaction_subtracts_delay_and_sound() -> None:
    hold = held(snap, go_s=ONSET_S - 0.25, settling_s=0.02)
    silent = measure(hold, FREE)["reaction"]
    loud = measure(hold, FREE, MeasureSettings(sound_latency_s=0.03))["reaction"]
    assert silent.value == pytest.approx(0.24)
    assert loud.value == pytest.approx(0.21)
    played = measure(replace(hold, sound_latency_s=0.05), FREE)["reaction"]
    assert played.value == pytest.approx(0.19)


def test_hold_quality_of_a_maximal_and_a_submaximal_hold() -> None:
    hold = held(lambda since_s: snap(since_s) * np.where(since_s > 2.0, 0.8, 1.0))
    assert measure(hold, THREE_S)["hold_quality"].value == pytest.approx(60.0, abs=0.1)
    low_band = Prescription(Effort.SUBMAXIMAL, 4.0, (200.0, 250.0))
    found = measure(hold, low_band)["hold_quality"]
    assert found.value == pytest.approx(100.0 / 3.5, abs=0.5)


@pytest.mark.parametrize(
    ("prescription", "words"),
    [
        (FREE, "no time"),
        (Prescription(hold_s=0.5), "no longer than"),
        (Prescription(Effort.SUBMAXIMAL, 3.0), "no band"),
    ],
)
def test_hold_quality_withheld(prescription: Prescription, words: str) -> None:
    assert words in measure(held(snap), prescription)["hold_quality"].reason


def test_the_common_part_of_quality_counts_against_a_prescribed_band_only() -> None:
    # along the lower edge for a third of the time that counts
    dipping = held(
        lambda since_s: snap(since_s) * np.where((since_s > 1.5) & (since_s < 2.3), 0.9, 1.0),
        block={"relative_u": 0.05},
    )
    band = Prescription(Effort.SUBMAXIMAL, 3.0, (272.0, 350.0))
    found = measure(dipping, band)["hold_quality"]
    assert 10.0 < sure(found.u_common) < 20.0
    assert measure(dipping, THREE_S)["hold_quality"].u_common == 0.0


def test_hold_quality_along_an_edge_of_the_band_is_not_told() -> None:
    doubtful = held(snap, block={"relative_u": 0.05})
    band = Prescription(Effort.SUBMAXIMAL, 3.0, (290.0, 350.0))
    found = measure(doubtful, band)["hold_quality"]
    assert found.value is None
    assert "along an edge of the band" in found.reason
    wide = Prescription(Effort.SUBMAXIMAL, 3.0, (200.0, 400.0))
    assert measure(doubtful, wide)["hold_quality"].value == pytest.approx(100.0, abs=1.0)


@pytest.mark.parametrize(
    ("rate_hz", "times", "snap_status", "peak_rfd"),
    [
        (10.0, "withheld", "withheld", "withheld"),
        (59.9, "withheld", "withheld", "withheld"),
        (60.0, "coarse", "coarse", "withheld"),
        (149.9, "coarse", "coarse", "withheld"),
        (150.0, "ok", "ok", "withheld"),
        (500.0, "ok", "ok", "ok"),
    ],
)
def test_rates_decide(rate_hz: float, times: str, snap_status: str, peak_rfd: str) -> None:
    values = measure(held(snap, rate_hz=rate_hz), FREE)
    assert values["time_to_peak"].status == times
    assert values["time_to_90"].status == times
    assert values["snap_share"].status == snap_status
    assert values["peak_rfd"].status == peak_rfd
    assert values["held_time"].status == ("coarse" if rate_hz < 60.0 else "ok")


@pytest.mark.parametrize(
    ("rate_hz", "settling_s", "status"),
    [
        (150.0, 0.025, "ok"),  # 4 x settling and 150 /s
        (150.0, 0.026, "coarse"),
        (149.0, 0.025, "coarse"),
        (150.0, 0.050, "coarse"),  # 2 x settling
        (150.0, 0.051, "withheld"),
        (50.0, 0.025, "coarse"),  # 5 samples
        (49.0, 0.025, "withheld"),
    ],
)
def test_samples_and_settling_decide_about_a_window(
    rate_hz: float, settling_s: float, status: str
) -> None:
    values = measure(held(snap, rate_hz=rate_hz, settling_s=settling_s), FREE)
    assert values["rfd_100"].status == status
    assert values["impulse_100"].status == status


def test_a_window_beyond_the_readings_is_withheld() -> None:
    hold = held(snap)
    keep = hold.force.time_s < ONSET_S + 0.18
    block = block_of(hold.force.force_N[keep], 1000.0)
    values = measure(hold_of(block, ONSET_S, None), FREE)
    assert values["rfd_150"].status is Status.OK
    assert "readings stop" in values["rfd_200"].reason
    assert values["hold_mean"].status is Status.WITHHELD


def test_lost_readings_make_a_window_coarse() -> None:
    values = measure(flagged(held(snap), ONSET_S + 0.18, Flag.GAP_BEFORE), FREE)
    assert values["rfd_150"].status is Status.OK
    assert values["rfd_200"].reason == "readings were lost on the way"
    early = measure(flagged(held(snap), ONSET_S + 0.01, Flag.BAD_WORD), FREE)
    assert early["peak_rfd"].status is Status.COARSE


def test_a_saturated_peak_is_coarse() -> None:
    found = measure(flagged(held(snap), ONSET_S + 1.0, Flag.SATURATED), FREE)
    assert "true force was higher" in found["peak_force"].reason
    slow = flagged(held(snap, rate_hz=80.0), ONSET_S + 1.0, Flag.SATURATED)
    assert measure(slow, FREE)["peak_force"].status is Status.COARSE


def test_steadiness_needs_twenty_readings() -> None:
    assert (
        "20 readings"
        in measure(held(snap, rate_hz=10.0, hold_s=1.5), FREE)["steadiness"].reason
    )


def test_without_rest_before_it_there_is_no_preload() -> None:
    hold = held(snap)
    keep = hold.force.time_s > ONSET_S - 0.15
    block = replace(block_of(hold.force.force_N[keep], 1000.0), time_s=hold.force.time_s[keep])
    found = measure(hold_of(block, ONSET_S, hold.release_s), FREE)["preload"]
    assert "too few readings" in found.reason


def test_an_unseen_let_go_gives_what_was_seen() -> None:
    found = measure(held(snap, release_s=None), FREE)
    assert "4.0 s at least" in found["held_time"].reason
    assert found["hold_mean"].value is not None


def test_a_force_that_never_rose_is_withheld_not_invented() -> None:
    hold = hold_of(block_of(np.full(500, -1.0), 100.0), 1.5, None, level_N=10.0)
    values = measure(hold, FREE)
    assert values["peak_force"].value == -1.0
    assert values["hold_mean"].status is Status.WITHHELD


def test_noise_larger_than_the_peak_withholds_its_90_percent() -> None:
    # 90 % of a peak below zero lies above the peak
    hold = hold_of(block_of(np.full(500, -1.0), 100.0), 1.5, None, level_N=-1.0)
    assert "never reached" in measure(hold, FREE)["time_to_90"].reason


def test_landmark_search() -> None:
    time_s, force_N = np.arange(5.0), np.array([0.0, 2.0, 4.0, 1.0, 3.0])
    assert first_passage(time_s, force_N, 0.0, 3.0) == 1.5
    assert first_passage(time_s, force_N, 2.0, 3.0) == 2.0
    assert first_passage(time_s, force_N, 0.0, 5.0) is None
    assert last_fall(time_s, force_N, 3.0, 2.5) == 2.5
    assert last_fall(time_s, force_N, 4.0, 2.5) == 4.0
    assert last_fall(time_s, force_N, 1.0, 1.5) == 1.0
    assert last_fall(time_s, force_N, 4.0, 9.0) is None


def test_a_late_peak_does_not_delay_the_hold_window() -> None:
    def climbing(since_s: Floats) -> Floats:
        return snap(since_s) * (1.0 + 0.02 * np.clip(since_s, 0.0, 3.0))

    view = look(held(climbing), THREE_S)
    assert view.peak.time_s > ONSET_S + 2.9
    assert view.window is not None
    start_s = view.time_s[view.window.first]
    reached_s = first_passage(view.time_s, view.force_N, ONSET_S, 0.9 * view.hold.level_N)
    assert start_s == pytest.approx(sure(reached_s) + 0.3, abs=0.001)


def test_the_hold_window_starts_at_mid_hold_at_the_latest() -> None:
    view = look(held(lambda since_s: 1.0 - np.exp(-np.maximum(since_s, 0.0) / 0.8)), THREE_S)
    assert view.window is not None
    assert view.time_s[view.window.first] == pytest.approx(ONSET_S + 1.5, abs=0.01)


def test_a_window_of_fewer_than_three_readings_is_none() -> None:
    assert look(held(snap, rate_hz=3.0, hold_s=1.2), FREE).window is None


def test_numbers_are_plain_ones() -> None:
    """A recording and a database refuse those of NumPy."""
    for value in measure(held(snap, go_s=1.2, noise_N=0.5, u_zero_N=0.1), THREE_S).values():
        numbers = (value.value, value.u_own, value.u_common, value.dof, value.coverage)
        assert {type(one) for one in numbers} <= {float, type(None)}, value.name


def all_values(hold: Hold) -> dict[str, float]:
    values = measure(hold, THREE_S)
    return {name: sure(value.value) for name, value in values.items()}


@settings(max_examples=15, deadline=None)
@given(scale=st.floats(0.2, 5.0), shift_s=st.floats(0.0, 5000.0))
def test_scale_and_shift_of_time(scale: float, shift_s: float) -> None:
    hold = held(wavy, go_s=1.2, noise_N=0.5, rng=np.random.default_rng(1), u_zero_N=0.1)
    block = hold.force
    moved = replace(
        hold,
        force=replace(block, time_s=block.time_s + shift_s, force_N=block.force_N * scale),
        onset_s=hold.onset_s + shift_s,
        release_s=sure(hold.release_s) + shift_s,
        level_N=hold.level_N * scale,
        noise_N=hold.noise_N * scale,
        go_s=1.2 + shift_s,
    )
    plain, scaled = all_values(hold), all_values(moved)
    for name, value in plain.items():
        unit_scale = scale if MEASURES[name].unit in ("N", "N/s", "N.s") else 1.0
        expected = value * unit_scale
        assert scaled[name] == pytest.approx(expected, rel=1e-4, abs=1e-4 * unit_scale), name
