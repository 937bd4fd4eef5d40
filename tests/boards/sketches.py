"""Captures of every shape of lines that sketches write, each with what it holds.

The lines are printed from the readings by format strings, as sketches do; no code of the
package is used. Readings are those of an invented board: a converter of 24 bits with an offset
of its own, some noise, and a push towards the end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

GAIN_KG = 4.66e-5  # kilograms a count of the invented cell
OFFSETS = (84_213, -321_000, 150_400, -42_000)


@dataclass(frozen=True)
class Readings:
    """What the board measured.

    raw: counts, shape (n, 4); kg: converted and tared, to the printed digit, shape (n, 4).
    """

    rate_hz: float
    raw: np.ndarray
    kg: np.ndarray

    def ms(self, i: int) -> int:
        return round(5000 + i * 1000.0 / self.rate_hz)

    def us(self, i: int) -> int:
        return round(5_000_123 + i * 1e6 / self.rate_hz)


def readings(rate_hz: float = 10.0, seconds: float = 3.0, seed: int = 1) -> Readings:
    rng = np.random.default_rng(seed)
    n = round(rate_hz * seconds)
    at_s = np.arange(n) / rate_hz
    push_kg = 40.0 * np.clip((at_s - 2.2) / 0.3, 0.0, 1.0)
    shares = np.array([0.4, 0.3, 0.2, 0.1])
    counts = rng.normal(0.0, 45.0, (n, 4)) + np.outer(push_kg / GAIN_KG, shares)
    raw = np.round(counts + OFFSETS).astype(int)
    kg = np.round((raw - OFFSETS) * GAIN_KG, 2) + 0.0
    return Readings(rate_hz, raw, kg)


Line = Callable[[Readings, int], list[str]]


@dataclass(frozen=True)
class Sketch:
    """One way to print readings.

    name: for the test; line: the lines of reading i; values: the reading as it is to come out;
    shape: as the program writes it; quantity: what it is; before: printed once at the start.
    """

    name: str
    line: Line
    values: Callable[[Readings, int], list[float]]
    shape: str
    quantity: str
    before: tuple[str, ...] = ()
    asks: bool = False


def one(text: Callable[[Readings, int], str]) -> Line:
    return lambda r, i: [text(r, i)]


def raw(r: Readings, i: int) -> list[float]:
    return [float(r.raw[i, 0])]


def raws(n: int) -> Callable[[Readings, int], list[float]]:
    return lambda r, i: [float(c) for c in r.raw[i, :n]]


def kg(r: Readings, i: int) -> list[float]:
    return [float(r.kg[i, 0])]


def kgs(n: int) -> Callable[[Readings, int], list[float]]:
    return lambda r, i: [float(c) for c in r.kg[i, :n]]


def indicator(r: Readings, i: int) -> str:
    """What weighing indicators print: stability, gross or net, sign, inner blanks, unit."""
    value = r.kg[i, 0]
    steady = "US" if abs(r.kg[i, 0] - r.kg[i - 1, 0]) > 0.05 else "ST"
    return f"{steady},GS,{'-' if value < 0 else '+'}{abs(value):8.2f}kg"


def cell(i: int) -> str:
    return "ABCD"[i]


SKETCHES = [
    Sketch("whole", one(lambda r, i: f"{r.raw[i, 0]}"), raw, "<count>", "count"),
    Sketch("float counts", one(lambda r, i: f"{r.raw[i, 0]}.00"), raw, "<count>", "count"),
    Sketch(
        "decimal", one(lambda r, i: f"{r.kg[i, 0]:.2f}"), kg, "<value>", "unknown", asks=True
    ),
    Sketch(
        "plus sign", one(lambda r, i: f"{r.kg[i, 0]:+.2f}"), kg, "<value>", "unknown", asks=True
    ),
    Sketch(
        "label", one(lambda r, i: f"Reading: {r.raw[i, 0]}"), raw, "Reading: <count>", "count"
    ),
    Sketch(
        "label and unit",
        one(lambda r, i: f"Weight: {r.kg[i, 0]:.2f} kg"),
        kg,
        "Weight: <kg> kg",
        "kg",
    ),
    Sketch(
        "label, unit, tail",
        one(lambda r, i: f"Reading: {r.kg[i, 0]:.2f} lbs calibration_factor: -7050.00"),
        kg,
        "Reading: <lb> lbs calibration_factor: <skip>",
        "lb",
    ),
    Sketch(
        "label, tail that moves",
        one(
            lambda r, i: (
                f"one reading:\t{r.raw[i, 0]}\t| average:\t{r.raw[: i + 1, 0].mean():.2f}"
            )
        ),
        raw,
        "one reading: <count> | average: <skip>",
        "count",
    ),
    Sketch(
        "label with digits",
        one(lambda r, i: f"HX711 reading: {r.raw[i, 0]}"),
        raw,
        "HX711 reading: <count>",
        "count",
    ),
    Sketch("unit glued", one(lambda r, i: f"{r.kg[i, 0]:.2f}kg"), kg, "<kg>kg", "kg"),
    Sketch("newtons", one(lambda r, i: f"F={r.kg[i, 0]:.2f} N"), kg, "F=<N> N", "N"),
    Sketch(
        "grams",
        one(lambda r, i: f"{1000 * r.kg[i, 0]:.0f} g"),
        lambda r, i: [float(f"{1000 * r.kg[i, 0]:.0f}")],
        "<g> g",
        "g",
    ),
    Sketch(
        "ms, comma", one(lambda r, i: f"{r.ms(i)},{r.raw[i, 0]}"), raw, "<ms>,<count>", "count"
    ),
    Sketch(
        "us, tab", one(lambda r, i: f"{r.us(i)}\t{r.raw[i, 0]}"), raw, "<us> <count>", "count"
    ),
    Sketch(
        "s, semicolon",
        one(lambda r, i: f"{r.us(i) / 1e6:.4f};{r.raw[i, 0]}"),
        raw,
        "<s>;<count>",
        "count",
    ),
    Sketch(
        "number, space",
        one(lambda r, i: f"{i} {r.raw[i, 0]}"),
        raw,
        "<number> <count>",
        "count",
    ),
    Sketch(
        "header",
        one(lambda r, i: f"{r.ms(i)},{r.raw[i, 0]},{r.kg[i, 0]:.2f},23.5"),
        raw,
        "<ms>,<count>,<skip>,<skip>",
        "count",
        before=("boot", "time_ms,raw,weight_kg,temp"),
    ),
    Sketch(
        "header with the unit",
        one(lambda r, i: f"{r.us(i)};{r.kg[i, 0]:.2f}"),
        kg,
        "<us>;<kg>",
        "kg",
        before=("boot", "us;load_kg"),
    ),
    Sketch(
        "header, load first",
        one(lambda r, i: f"{r.kg[i, 0]:.2f},{r.ms(i)}"),
        kg,
        "<N>,<ms>",
        "N",
        before=("boot", "force_N,millis"),
    ),
    Sketch(
        "two cells",
        one(lambda r, i: f"{r.raw[i, 0]},{r.raw[i, 1]}"),
        raws(2),
        "<count>,<count>",
        "count",
    ),
    Sketch(
        "time and four cells",
        one(lambda r, i: "\t".join([str(r.ms(i)), *map(str, r.raw[i])])),
        raws(4),
        "<ms> <count> <count> <count> <count>",
        "count",
    ),
    Sketch(
        "two cells by header",
        one(lambda r, i: f"{r.kg[i, 0]:.2f} {r.kg[i, 1]:.2f}"),
        kgs(2),
        "<kg> <kg>",
        "kg",
        before=("boot", "left_kg right_kg"),
    ),
    Sketch(
        "two cells by name",
        one(lambda r, i: f"cell1={r.raw[i, 0]} cell2={r.raw[i, 1]}"),
        raws(2),
        "cell1=<count> cell2=<count>",
        "count",
    ),
    Sketch(
        "two cells in turn",
        lambda r, i: [f"A: {r.raw[i, 0]}", f"B: {r.raw[i, 1]}"],
        raws(2),
        "A: <count><eol>B: <count>",
        "count",
    ),
    Sketch(
        "three cells in turn, numbered",
        lambda r, i: [f"Cell {k + 1}: {r.raw[i, k]}" for k in range(3)],
        raws(3),
        "Cell 1: <count><eol>Cell 2: <count><eol>Cell 3: <count>",
        "count",
    ),
    Sketch(
        "raw and kilograms",
        one(lambda r, i: f"{r.raw[i, 0]} {r.kg[i, 0]:.2f}"),
        raw,
        "<count> <skip>",
        "count",
    ),
    Sketch(
        "kilograms and pounds",
        one(lambda r, i: f"{r.kg[i, 0]:.2f} kg {r.kg[i, 0] * 2.20462:.2f} lb"),
        kg,
        "<kg> kg <skip> lb",
        "kg",
    ),
    Sketch(
        "name:value pairs",
        one(lambda r, i: f"t:{r.ms(i)} temp:23.{i % 7} raw:{r.raw[i, 0]} kg:{r.kg[i, 0]:.2f}"),
        raw,
        "t:<ms> temp:<skip> raw:<count> kg:<skip>",
        "count",
    ),
    Sketch(
        "plotter pairs",
        one(lambda r, i: f"min:-100,max:100,weight:{r.kg[i, 0]:.2f}g"),
        kg,
        "min:<skip>,max:<skip>,weight:<g>g",
        "g",
    ),
    Sketch(
        "JSON, raw",
        one(lambda r, i: f'{{"t":{r.ms(i)},"raw":{r.raw[i, 0]},"battery":87}}'),
        raw,
        '{"t":<ms>,"raw":<count>,"battery":<skip>}',
        "count",
    ),
    Sketch(
        "JSON, unit apart",
        one(lambda r, i: f'{{"weight": {r.kg[i, 0]:.2f}, "unit": "kg", "ok": true}}'),
        kg,
        '{"weight": <kg>, "unit": "kg", "ok": true}',
        "kg",
    ),
    Sketch(
        "framed",
        one(lambda r, i: f"*{r.raw[i, 1]}#"),
        lambda r, i: [float(r.raw[i, 1])],
        "*<count>#",
        "count",
    ),
    Sketch("indicator", one(indicator), kg, "<word>,<word>,<kg>kg", "kg"),
    Sketch(
        "indicator, blanks",
        one(lambda r, i: f"  {r.kg[i, 0]:9.2f} kg  G"),
        kg,
        "<kg> kg <word>",
        "kg",
    ),
    Sketch(
        "label on its own line",
        lambda r, i: ["Weight [kg]:", f"{r.kg[i, 0]:.2f}"],
        kg,
        "Weight [kg]:<eol><kg>",
        "kg",
    ),
    Sketch(
        "block with a rule",
        lambda r, i: ["----", f"Raw: {r.raw[i, 0]}", f"Weight: {r.kg[i, 0]:.2f} kg"],
        raw,
        "----<eol>Raw: <count><eol>Weight: <skip> kg",
        "count",
    ),
    Sketch(
        "decimal comma",
        one(lambda r, i: f"{r.ms(i)};{r.kg[i, 0]:.2f}".replace(".", ",")),
        kg,
        "<ms>;<value,>",
        "unknown",
        asks=True,
    ),
    Sketch(
        "decimal comma and unit",
        one(lambda r, i: f"Gewicht: {r.kg[i, 0]:.2f} kg".replace(".", ",")),
        kg,
        "Gewicht: <kg,> kg",
        "kg",
    ),
    Sketch(
        "time of day",
        one(lambda r, i: f"12:34:{i / r.rate_hz:06.3f} -> {r.raw[i, 0]}"),
        raw,
        "<clock> -> <count>",
        "count",
    ),
    Sketch(
        "date and time",
        one(lambda r, i: f"2026-01-05T12:34:{i / r.rate_hz:06.3f}Z,{r.kg[i, 0]:.2f}kg"),
        kg,
        "<clock>,<kg>kg",
        "kg",
    ),
    Sketch(
        "offset counts",
        one(lambda r, i: f"{r.raw[i, 0] + 2**23}"),
        lambda r, i: [float(r.raw[i, 0] + 2**23)],
        "<offset>",
        "count",
    ),
]


CONFUSABLE: dict[str, tuple[Line, str]] = {
    "a comma in every line": (
        one(lambda r, i: f"{10 + i % 5},{50 + i * 7 % 40}"),
        "decimal comma",
    ),
    "thousands or decimals": (
        one(lambda r, i: f"{r.raw[i, 0] // 1000},{r.raw[i, 0] % 1000:03d}"),
        "decimal comma",
    ),
    "two decimals": (one(lambda r, i: f"{r.kg[i, 0]:.2f} {r.kg[i, 1]:.2f}"), "is the load"),
    "a reading and its copy": (
        one(lambda r, i: f"{r.raw[i, 0]},{r.raw[i - 1, 0]}"),
        "is the load",
    ),
    "a dash or a minus": (one(lambda r, i: f"Weight - {abs(r.kg[i, 0]):.2f} kg"), "a minus"),
    "two cells in turn without names": (
        lambda r, i: [f"{r.raw[i, 0]}", f"{r.raw[i, 1]}"],
        "in turn",
    ),
    "small whole numbers in two columns": (
        one(lambda r, i: f"{i % 3} {(i * 7) % 5}"),
        "is the load",
    ),
}

NO_READINGS = [
    ["HX711 not ready"],
    ["HX711-2 not ready"],
    ["Connecting to 192.168.1.4", "try 3 of 10", "ESP-ROM:esp32c3-api1-20210207"],
    ["0x12 0x13", "1e5", "v1.2.3", "12a", "a12"],
    ["temp: 23.5 C", "temp: 23.6 C"],
    ["S,1,2,3*0000", "S,2,4,84213*FFFF"],
    ["weight=nan", "weight=inf", "weight=ovf"],
]


def sent(
    sketch: Sketch, r: Readings, *, end: str = "\n", first: int = 0
) -> list[tuple[int, bytes]]:
    """Give arrival [us] and bytes of each line of a sketch, beginning in the middle of one."""
    lines = [(0, text) for text in sketch.before]
    for i in range(first, len(r.raw)):
        at_us = round((i + 1) * 1e6 / r.rate_hz)
        lines += [(at_us, text) for text in sketch.line(r, i)]
    return [(at_us, text.encode() + end.encode()) for at_us, text in lines]
