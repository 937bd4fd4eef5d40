"""Each fault of a board is seen, said once, over when it is over; a sound board has none."""

from collections.abc import Callable

import numpy as np
import pytest

from strikebridge.boards.address import make_decoder
from strikebridge.boards.health import STUCK_US, WORDS, Fault, WatchedDecoder
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.samples import Chunk

Line = Callable[[int], bytes | None]
RATE_HZ = 80.0
SPACING_US = round(1e6 / RATE_HZ)
NOISE = np.random.default_rng(4).normal(0.0, 60.0, 40_000).astype(int)


def sound(n: int) -> bytes:
    return close_line(b"S,%d,%d,%d" % (n % 65_536, n * SPACING_US, 84_213 + NOISE[n]))


def sound_every(spacing_us: int) -> Line:
    return lambda n: close_line(b"S,%d,%d,%d" % (n % 65_536, n * spacing_us, 84_213 + NOISE[n]))


def seen(
    line: Line, seconds: float, group: int = 1, spacing_us: int = SPACING_US
) -> list[tuple[str, bool, float]]:
    """What was said of a board, and when [s]; lines come in groups."""
    decoder = WatchedDecoder(make_decoder())
    identity = close_line(b"I,1,wall,1.0,hx711,80,50")
    chunks = [Chunk("x", 0, identity)]
    for n in range(round(seconds * 1e6 / spacing_us)):
        text = line(n)
        if text is not None:
            chunks.append(Chunk("x", (n + 1) * spacing_us, text))
    said = []
    for at in range(0, len(chunks), group):
        decoder.feed(chunks[at : at + group])
        said += decoder.health.changes()
    return [(change.fault.value, change.has_begun, change.at_us * 1e-6) for change in said]


@pytest.mark.parametrize("group", [1, 7, 100])
def test_a_sound_board_has_no_faults(group: int) -> None:
    assert seen(sound, 30.0, group) == []


@pytest.mark.parametrize("rate_hz", [10.0, 80.0, 320.0])
def test_a_simulated_athlete_is_no_fault(rate_hz: float) -> None:
    board = SimulatedBoard(BoardModel(rate_hz=rate_hz, seed=3, channels=2))
    decoder = WatchedDecoder(make_decoder())
    decoder.feed([Chunk("x", 0, board.identity_line())])
    while board.now_s < 60.0:
        decoder.feed([Chunk("x", line.at_us, line.data) for line in board.next_lines()])
    assert decoder.health.changes() == []


def at(begin_s: float, end_s: float, change: Line) -> Line:
    """A sound board on which something else happens for a while."""
    return lambda n: change(n) if begin_s <= n / RATE_HZ < end_s else sound(n)


def counts(count: int) -> Line:
    return lambda n: close_line(b"S,%d,%d,%d" % (n % 65_536, n * SPACING_US, count))


@pytest.mark.parametrize("group", [1, 13])
@pytest.mark.parametrize(
    ("line", "fault", "within_s"),
    [
        (at(10.0, 15.0, counts(84_000)), Fault.STUCK, STUCK_US * 1e-6 + 0.1),
        (at(10.0, 12.0, counts(8_388_607)), Fault.SATURATED, 0.1),
        (at(10.0, 12.0, counts(-8_388_608)), Fault.SATURATED, 0.1),
        (at(10.0, 18.0, lambda _: b"\x80\xf8\x00garbage\n"), Fault.UNREADABLE, 3.0),
        (at(10.0, 18.0, lambda n: None if n % 3 == 0 else sound(n)), Fault.LOSING, 2.5),
        (at(10.0, 30.0, lambda n: sound(n // 4) if n % 4 == 0 else None), Fault.RATE, 5.0),
    ],
    ids=["stuck", "high end", "low end", "garbage", "losing", "rate"],
)
def test_a_fault_is_seen_soon_and_over_soon(
    line: Line, fault: Fault, within_s: float, group: int
) -> None:
    said = [entry for entry in seen(line, 40.0, group) if entry[0] == fault.value]
    assert [begun for _, begun, _ in said] == [True, False]
    assert 10.0 <= said[0][2] <= 10.0 + within_s + 0.2
    assert said[1][2] <= 36.0


@pytest.mark.parametrize("group", [1, 13])
@pytest.mark.parametrize(("off", "is_said"), [(-0.17, False), (0.17, False), (0.4, True)])
def test_a_rate_is_off_where_real_boards_are_not(off: float, is_said: bool, group: int) -> None:
    # real boards are up to 17 % off; a board that names 80 a second and sends 112 or 48 is not
    for share in {off, -off} if is_said else {off}:
        spacing_us = round(SPACING_US / (1.0 + share))
        said = seen(sound_every(spacing_us), 20.0, group, spacing_us)
        assert {kind for kind, _, _ in said} == ({"rate"} if is_said else set())


def test_lines_that_cannot_be_read_are_no_other_rate() -> None:
    # three of four lines are no readings, and no number is missing: 20 readings a second of 80
    said = seen(lambda n: sound(n // 4) if n % 4 == 0 else b"S,1,2*\n", 20.0)
    assert [(kind, begun) for kind, begun, _ in said] == [("unreadable", True)]


@pytest.mark.parametrize("count", [8_388_607, -8_388_608])
def test_at_its_end_the_converter_is_not_stuck_as_well(count: int) -> None:
    said = [(kind, begun) for kind, begun, _ in seen(at(10.0, 20.0, counts(count)), 30.0)]
    assert said == [("saturated", True), ("saturated", False)]


def test_stuck_takes_its_time() -> None:
    # a second and a half after the first reading of them, no sooner
    begun, over = seen(at(10.0, 15.0, counts(84_000)), 20.0)
    assert begun[2] == pytest.approx(11.5 + SPACING_US * 1e-6, abs=0.01)
    assert over[2] == pytest.approx(15.0 + SPACING_US * 1e-6, abs=0.01)
    # and a slow board that repeats itself for as long has too few readings to say it
    slow = seen(lambda n: counts(84_000)(n) if n % 14 == 0 else None, 1.9)
    assert [kind for kind, _, _ in slow] == []


def test_a_reset_and_a_leap_of_the_clock_are_told_apart() -> None:
    def reset(n: int) -> bytes:
        since = n - 800
        return close_line(b"S,%d,%d,%d" % (since, since * SPACING_US, 84_213 + NOISE[n]))

    def leapt(n: int) -> bytes:
        us = n * SPACING_US + 10**9
        return close_line(b"S,%d,%d,%d" % (n % 65_536, us, 84_213 + NOISE[n]))

    for line, kind in ((reset, "reset"), (leapt, "clock")):
        begun, over = seen(at(10.0, 99.0, line), 30.0)
        assert (begun[:2], over[:2]) == ((kind, True), (kind, False))
        # it is said for five seconds
        assert begun[2] == pytest.approx(10.0, abs=0.03)
        assert over[2] - begun[2] == pytest.approx(5.0, abs=0.02)


def test_a_scale_at_rest_in_kilograms_is_not_stuck() -> None:
    decoder = WatchedDecoder(make_decoder("<kg> kg"))
    for n in range(400):
        decoder.feed([Chunk("x", n * 100_000, b"0.00 kg\n")])
    assert decoder.health.changes() == []
    assert decoder.questions == ()
    assert (decoder.shape, decoder.channels) == ("described-lines", 1)
    assert (decoder.remarks, decoder.pause_s) == ((), 0.0)
    assert decoder.feed([]) == []


def test_after_a_loss_counting_begins_anew() -> None:
    decoder = WatchedDecoder(make_decoder())
    for n in range(800):
        decoder.feed([Chunk("x", n * SPACING_US, sound(n))])
    decoder.finish()
    for n in range(1600, 2400):
        decoder.feed([Chunk("x", n * SPACING_US, sound(n))])
    assert decoder.health.changes() == []


def test_questions_are_handed_on_until_there_is_a_choice() -> None:
    decoder = WatchedDecoder(make_decoder())
    for n in range(40):
        decoder.feed([Chunk("x", n * 100_000, b"12,%d\n" % (50 + n % 40))])
    assert any("comma" in question for question in decoder.questions)
    assert WatchedDecoder(make_decoder("bare-integers")).questions == ()


def test_there_are_words_for_each() -> None:
    for fault in Fault:
        what, advice = WORDS[fault]
        assert what.endswith(".")
        assert advice.endswith(".")
