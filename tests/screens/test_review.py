"""The review: what is shown, where it goes, and that it can be painted with no screen."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtGui import QImage

from strikebridge.analysis import Analysis
from strikebridge.glance import Trace
from strikebridge.measures import bricks, measure
from strikebridge.samples import Contact, Effort, Gap, Prescription, Rep
from strikebridge.screens.items import Box
from strikebridge.screens.look import DARK, LIGHT
from strikebridge.screens.review import HEIGHT, WIDTH, ReviewScreen, save_picture
from strikebridge.screens.review_layout import lay_out
from strikebridge.screens.review_model import CONTACTS_SHOWN, Review, curve_of, review_of
from strikebridge.screens.review_sheet import Role, nice_step, spread, thin
from strikebridge.screens.review_window import KEYS_WORDS
from strikebridge.units import ForceUnit
from strikebridge.verdict import judge
from tests.made_holds import held, snap

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.samples import Floats, Hold
    from strikebridge.screens.look import Scheme

pytestmark = pytest.mark.screen
ASKED = Prescription(hold_s=3.0)
SIZES = [(1024, 600), (1366, 768), (1920, 1080)]


def ramp(since_s: Floats) -> Floats:
    return np.clip(since_s / 1.2, 0.0, 1.0)


def rep_of(hold: Hold, prescription: Prescription = ASKED) -> Rep:
    values = measure(hold, prescription)
    trace = Trace(hold.force.time_s, hold.force.force_N)
    shares = bricks(trace, hold.onset_s, hold.onset_s + 3.0, prescription, hold.level_N)
    verdict = judge(hold, values, prescription)
    return Rep(hold, prescription, values, shares, verdict)


def reps(count: int, prescription: Prescription = ASKED) -> list[Rep]:
    made = []
    for k in range(count):
        early = 1.4 if k % 7 == 3 else 3.1
        hold = held(ramp if k % 5 == 4 else snap, newtons=300.0 + 7.0 * (k % 11), hold_s=early)
        made.append(rep_of(replace(hold, number=k + 1), prescription))
    return made


def analysis_of(made: list[Rep], *contacts: Contact, lost: int = 0) -> Analysis:
    gaps = (Gap(1.0, 1.1, lost),) if lost else ()
    return Analysis("friday.jsonl", 1000.0, None, "c", tuple(made), contacts, gaps)


def review(count: int, prescription: Prescription = ASKED) -> Review:
    return review_of(analysis_of(reps(count, prescription)), ForceUnit.KG)


def test_curves_begin_at_their_onset_in_the_coachs_unit() -> None:
    shown = review(5)
    assert shown.title == "friday.jsonl: 5 holds, 1000 readings a second"
    assert [curve.number for curve in shown.curves] == [1, 2, 3, 4, 5]
    first = shown.curves[0]
    assert first.at(-0.1).force == pytest.approx(0.0, abs=0.1)
    assert first.at(1.0).force == pytest.approx(300.0 / 9.80665, rel=1e-3)
    assert first.peak.force == pytest.approx(300.0 / 9.80665, rel=1e-2)
    assert first.release is not None
    assert first.release.time_s == pytest.approx(3.1 + 0.02 * np.log(2.0), abs=0.002)
    assert first.release.force == pytest.approx(0.5 * first.peak.force, rel=0.03)
    assert not first.fault_words
    assert shown.curves[4].rise_fault == "ramp"
    assert shown.curves[3].fault_words == "early let-go"
    assert shown.curves[shown.best].peak.force == max(c.peak.force for c in shown.curves)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("2026-03-01-190507-123456.jsonl", "Free reps, 01 March 2026, 19:05"),
        ("session-5e551040-2026-03-01-190507-123456.jsonl", "Session, 01 March 2026, 19:05"),
        ("2026-02-31-190507-123456.jsonl", "2026-02-31-190507-123456.jsonl"),
        ("friday.csv", "friday.csv"),
    ],
)
def test_a_recording_of_the_wall_is_named_by_its_day(name: str, said: str) -> None:
    shown = review_of(replace(analysis_of(reps(1)), recording=name), ForceUnit.KG)
    assert shown.title.startswith(f"{said}: 1 hold")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("count", [0, 3])
def test_a_window_says_how_to_leave_it(size: tuple[int, int], count: int) -> None:
    shown = review(count)
    sheet = lay_out(shown, *size, KEYS_WORDS)
    (keys,) = (one.box for one in sheet.words if one.text == KEYS_WORDS)
    assert not any(keys.overlaps(one.box) for one in sheet.words if one.text != KEYS_WORDS)
    assert keys.right <= size[0]
    assert keys.w >= sheet.text_width(KEYS_WORDS)


def test_what_was_asked_is_shown() -> None:
    shown = review(2, Prescription(Effort.SUBMAXIMAL, 3.0, (200.0, 260.0)))
    assert shown.asked_s == (3.0,)
    assert shown.bands[0] == pytest.approx((200.0 / 9.80665, 260.0 / 9.80665))
    sheet = lay_out(shown, WIDTH, HEIGHT)
    assert {zone.role for zone in sheet.zones} == {Role.BAND}
    assert any(words.text == "band 20 to 27 kg" for words in sheet.words)
    assert any(words.text == "3 s asked" for words in sheet.words)
    far = lay_out(review(2, Prescription(hold_s=60.0)), WIDTH, HEIGHT)
    assert not any("asked" in words.text for words in far.words)


def test_without_holds_it_says_why() -> None:
    touch = Contact(3.0, 3.2, 60.0, "shorter than 0.5 s, so no hold")
    shown = review_of(analysis_of([], *[touch] * (CONTACTS_SHOWN + 2), lost=3), ForceUnit.N)
    assert shown.title == "friday.jsonl: 0 holds, 1000 readings a second, 3 readings lost"
    assert shown.nothing[1] == "At 3.0 s: 60 N, shorter than 0.5 s, so no hold."
    assert shown.nothing[-1] == "And 2 more touches that are no holds."
    assert len(lay_out(shown, WIDTH, HEIGHT).words) == 1 + len(shown.nothing)
    untouched = review_of(replace(analysis_of([]), rate_hz=None), ForceUnit.N)
    assert untouched.nothing[1].startswith("Nobody touched")


@pytest.mark.parametrize("count", [1, 2, 14, 30, 60])
@pytest.mark.parametrize("size", SIZES)
def test_nothing_leaves_the_picture_and_no_label_covers_another(
    count: int, size: tuple[int, int]
) -> None:
    shown = review(count)
    sheet = lay_out(shown, *size)
    picture = Box(0.0, 0.0, *size)
    for words in sheet.words:
        box = words.box
        assert picture.x <= box.x <= box.right <= picture.right + 1e-6, words.text
        assert picture.y <= box.y <= box.bottom <= picture.bottom + 1e-6, words.text
    for stroke in sheet.strokes:
        assert (stroke.points >= -1e-6).all()
        assert (stroke.points <= np.array(size) + 1e-6).all()
    values = [curve.value_words for curve in shown.curves]
    labels = [words.box for words in sheet.words if words.text in values]
    assert len(labels) == min(count, 34)
    assert not any(a.overlaps(b) for k, a in enumerate(labels) for b in labels[k + 1 :])


def test_the_strongest_hold_explains_the_marks() -> None:
    shown = review(3)
    texts = [words.text for words in lay_out(shown, WIDTH, HEIGHT).words]
    best = shown.curves[shown.best]
    for expected in (
        best.peak_words,
        best.window_words,
        f"hold {best.number} {best.release_words}",
        "onset",
    ):
        assert expected in texts
    roles = {stroke.role for stroke in lay_out(shown, WIDTH, HEIGHT).strokes}
    assert {Role.CURVE, Role.BEST, Role.WINDOW, Role.LEADER, Role.ASKED} <= roles


@pytest.mark.parametrize("size", SIZES)
def test_the_release_is_named_away_from_the_marks_of_others(size: tuple[int, int]) -> None:
    lengths = (3.1, 3.28, 3.4, 3.2)  # so that others end beside the strongest
    made = [
        rep_of(replace(held(snap, newtons=300.0 - 9.0 * k, hold_s=hold_s), number=k + 1))
        for k, hold_s in enumerate(lengths)
    ]
    shown = review_of(analysis_of(made), ForceUnit.KG)
    sheet = lay_out(shown, *size)
    (label,) = (one.box for one in sheet.words if "released" in one.text)
    marks = [one for one in sheet.symbols if one.role is Role.RELEASE]
    assert len(marks) == len(lengths)
    inside = [
        m for m in marks if label.x <= m.x <= label.right and label.y <= m.y <= label.bottom
    ]
    assert inside == []


def test_every_number_of_the_hold_window_has_its_doubt() -> None:
    shown = review(3)
    words = shown.curves[shown.best].window_words
    mean, swings, sag = words.removeprefix("hold window: ").split(", ")
    for text, unit in ((mean, "kg"), (swings, "%"), (sag, "%/s")):
        assert re.fullmatch(rf"(mean |swings |[+-])[0-9.]+ ± [0-9.]+ {unit}", text), text
    made = reps(1)[0]
    for u_own, said in ((0.04, "swings 0.50 ± 0.08 %"), (None, "swings 0.5 ± not known %")):
        steady = replace(
            made.measures["steadiness"], value=0.5, u_own=u_own, u_common=0.0, coverage=2.0
        )
        rep = replace(made, measures={**made.measures, "steadiness": steady})
        assert said in curve_of(rep, ForceUnit.KG).window_words


def test_one_hold_is_put_into_words() -> None:
    shown = review(1)
    assert shown.curves[0].sentence in [w.text for w in lay_out(shown, WIDTH, HEIGHT).words]


def test_a_hold_without_release_or_window_is_drawn_too() -> None:
    whole = held(snap)
    seen = int(np.searchsorted(whole.force.time_s, 2.1))
    force = replace(
        whole.force,
        **{
            name: getattr(whole.force, name)[:seen]
            for name in (
                "number",
                "time_s",
                "force_N",
                "cells_N",
                "u_own_N",
                "u_common_N",
                "flags",
            )
        },
    )
    cut = rep_of(replace(whole, force=force, release_s=None))
    shown = review_of(analysis_of([cut]), ForceUnit.LB)
    (curve,) = shown.curves
    assert curve.release is None
    assert curve.window is None
    assert curve.held_last is curve.let_go
    assert curve.release_words == "let-go not seen"
    assert "let-go not seen" in [words.text for words in lay_out(shown, 800, 600).words]


def test_faults_of_the_hold_are_ringed_where_they_show() -> None:
    def fading(since_s: Floats) -> Floats:
        return snap(since_s) * (1.0 - 0.1 * np.clip(since_s, 0.0, 3.0))

    def swinging(since_s: Floats) -> Floats:
        return snap(since_s) * (1.0 + 0.12 * np.sin(20.0 * since_s))

    for shape, fault in ((fading, "sagging"), (swinging, "shaky")):
        shown = review_of(analysis_of([rep_of(held(shape))]), ForceUnit.KG)
        assert fault in shown.curves[0].faults
        sheet = lay_out(shown, WIDTH, HEIGHT)
        assert sum(symbol.role is Role.FAULT for symbol in sheet.symbols) == 1


def test_thinning_keeps_every_extreme() -> None:
    rng = np.random.default_rng(3)
    x = np.linspace(0.0, 100.0, 10_000)
    y = rng.normal(size=10_000)
    points = thin(x, y)
    assert len(points) <= 4 * 101
    for column in range(100):
        inside, kept = y[np.floor(x) == column], points[np.floor(points[:, 0]) == column, 1]
        assert (kept.min(), kept.max()) == (inside.min(), inside.max())
    assert thin(x[:1], y[:1]).shape == (1, 2)
    assert thin(x[::500], y[::500]).tolist() == np.column_stack((x, y))[::500].tolist()


@pytest.mark.parametrize(
    ("span", "most", "step"), [(10.0, 10, 1.0), (3.4, 8, 0.5), (130, 8, 20)]
)
def test_steps_are_round(span: float, most: int, step: float) -> None:
    assert nice_step(span, most) == pytest.approx(step)


def test_labels_are_moved_apart_no_further_than_needed() -> None:
    assert spread([10.0, 50.0, 90.0], 10.0, 0.0, 100.0) == [10.0, 50.0, 90.0]
    assert spread([50.0, 50.0, 99.0], 10.0, 0.0, 100.0) == [50.0, 60.0, 99.0]
    assert spread([95.0, 95.0, 99.0], 10.0, 0.0, 100.0) == [80.0, 90.0, 100.0]
    assert spread([], 10.0, 0.0, 100.0) == []


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
def test_the_widget_paints_what_it_is_told(qtbot: QtBot, scheme: Scheme) -> None:
    screen = ReviewScreen()
    qtbot.addWidget(screen)
    screen.resize(1024, 600)
    screen.set_scheme(scheme)
    empty = screen.grab().toImage()
    screen.show_review(review(14))
    full = screen.grab().toImage()
    screen.show_review(review(13))
    other = screen.grab().toImage()
    assert empty != full
    assert full != other


def test_the_picture_is_written(qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "friday.png"
    assert save_picture(review(3), path)
    image = QImage(str(path))
    assert (image.width(), image.height()) == (2 * WIDTH, 2 * HEIGHT)
    assert not save_picture(review(3), tmp_path / "nowhere" / "friday.png")


def test_a_process_without_any_screen_draws_it(tmp_path: Path) -> None:
    table = tmp_path / "friday.csv"
    time_s = np.arange(0.0, 12.0, 0.0125)
    force_N = np.where((time_s > 4.0) & (time_s < 7.2), 300.0, 0.0) + 0.3 * np.sin(40 * time_s)
    rows = (f"{t:.4f},{f:.3f}\n" for t, f in zip(time_s, force_N, strict=True))
    table.write_text("time_s,force_N\n" + "".join(rows))
    screens = ("QT_QPA_PLATFORM", "DISPLAY", "WAYLAND_DISPLAY")
    environment = {key: value for key, value in os.environ.items() if key not in screens}
    command = [sys.executable, "-m", "strikebridge", "analyse", str(table)]
    for name in ("friday.png", "bare"):
        done = subprocess.run(
            [*command, "--plot", str(tmp_path / name)],
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, "")
        image = QImage(str((tmp_path / name).with_suffix(".png")))
        assert image.width() == 2 * WIDTH
    done = subprocess.run(
        [*command, "--plot", str(tmp_path / "nowhere" / "friday.png")],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "could not be written" in done.stderr
