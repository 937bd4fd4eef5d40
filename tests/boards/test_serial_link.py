import asyncio
import errno
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import serial
from serial.tools.list_ports import comports

from strikebridge.boards import serial_link
from strikebridge.boards.address import open_link
from strikebridge.boards.serial_link import Port, list_ports
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import BoardBusyError, BoardError, BoardLostError, BoardNotFoundError
from strikebridge.samples import Chunk, Event, Record
from tests.ptys import open_pty, posix
from tests.running import WITHIN_S

if sys.platform != "win32":
    import tty


@pytest.fixture(params=[True, False], ids=["select", "as on Windows"])
def wire(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Iterator[SimpleNamespace]:
    """A pseudo-terminal: our end, and the path that the link opens; read in either way."""
    monkeypatch.setattr(serial_link, "CAN_SELECT", request.param)
    if sys.platform == "win32":
        pytest.skip("Windows has no pseudo-terminals")
    else:
        ours, theirs = os.openpty()
        tty.setraw(theirs)
        # a name of its own: the system gives the number of a port that is gone to another test
        path = tmp_path / "wire"
        path.symlink_to(os.ttyname(theirs))
        ends = SimpleNamespace(ours=ours, path=str(path), is_open=True)

        def pull() -> None:
            if ends.is_open:
                ends.is_open = False
                path.unlink()
                os.close(ours)
                os.close(theirs)

        ends.pull = pull
        yield ends
        pull()


async def some(queue: StreamQueue) -> list[Record]:
    """Take what comes next; a wake-up may be one too many and bring nothing."""
    async with asyncio.timeout(WITHIN_S):
        while not (records := await queue.take(timeout_s=1.0)):
            assert records is not None, "the stream ended"
    return records


async def take_bytes(queue: StreamQueue, n: int) -> bytes:
    data = b""
    while len(data) < n:
        records = await some(queue)
        data += b"".join(record.data for record in records if isinstance(record, Chunk))
    return data


async def test_delivers_every_byte_and_stamps_it(wire: SimpleNamespace) -> None:
    link = open_link(f"serial:{wire.path}?baud=57600")
    queue = StreamQueue()
    await link.open(queue)
    os.write(wire.ours, bytes(range(256)))
    records = await some(queue)
    assert isinstance(records[0], Chunk)
    assert records[0].board == f"serial:{wire.path}?baud=57600"
    assert 0 < records[0].arrived_us <= queue.now_us()
    got = b"".join(record.data for record in records if isinstance(record, Chunk))
    got += await take_bytes(queue, 256 - len(got))
    assert got == bytes(range(256))
    await link.hear(Event("go", 1))
    await link.close()
    await link.close()
    assert link.certificate is None


async def test_whoever_has_looked_has_his_turn_when_the_wire_is_quiet(
    wire: SimpleNamespace,
) -> None:
    link = open_link(f"serial:{wire.path}")
    queue = StreamQueue()
    seen: list[bytes] = []

    def look(records: list[Record]) -> bool:
        seen.extend(record.data for record in records if isinstance(record, Chunk))
        return False

    await link.open(queue)
    for line in (b"one\n", b"two\n", b"3"):
        taker = asyncio.create_task(queue.take(timeout_s=60.0, first_look=look))
        await asyncio.sleep(0)  # one turn of the loop: he waits now
        os.write(wire.ours, line)
        await asyncio.wait_for(taker, WITHIN_S)
    await link.close()
    assert b"".join(seen) == b"one\ntwo\n3"


async def test_writes_to_the_board(wire: SimpleNamespace) -> None:
    link = open_link(f"serial:{wire.path}")
    await link.send(b"lost\n")  # nothing is open yet
    await link.open(StreamQueue())
    await link.send(b"?\n")
    assert os.read(wire.ours, 10) == b"?\n"
    await link.close()


async def test_a_foreign_process_writes(wire: SimpleNamespace) -> None:
    link = open_link(f"serial:{wire.path}")
    queue = StreamQueue()
    await link.open(queue)
    program = (
        "import os, sys\n"
        "fd = int(sys.argv[1])\n"
        "for i in range(2000):\n    os.write(fd, b'%d\\n' % i)\n"
    )
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-c", program, str(wire.ours), pass_fds=[wire.ours]
    )
    told = b"".join(b"%d\n" % i for i in range(2000))
    assert await take_bytes(queue, len(told)) == told
    assert await process.wait() == 0
    await link.close()


async def test_a_pulled_plug_is_told_after_the_data(wire: SimpleNamespace) -> None:
    link = open_link(f"serial:{wire.path}")
    queue = StreamQueue()
    await link.open(queue)
    os.write(wire.ours, b"1\n2\n")
    assert await take_bytes(queue, 4) == b"1\n2\n"
    wire.pull()
    with pytest.raises(BoardLostError, match="unplugged or switched off") as caught:
        await some(queue)
    assert caught.value.address == f"serial:{wire.path}"
    assert caught.value.__cause__ is not None
    await link.send(b"?\n")  # into the void: the loss has been told
    await link.close()
    with pytest.raises(BoardNotFoundError):
        await link.open(queue)


async def test_what_came_before_a_break_is_kept() -> None:
    class Breaking:
        in_waiting = property(lambda self: self.fileno())

        def read(self, size: int) -> Any:
            return b"S"

        def fileno(self) -> int:
            raise OSError(errno.EIO, "gone")

    link = open_link("serial:somewhere")
    queue = StreamQueue()
    assert isinstance(link, serial_link.SerialLink)
    link._read(Breaking(), queue)  # type: ignore[arg-type]  # a stand-in for a breaking port
    records = await queue.take(timeout_s=1.0)
    assert records is not None
    assert [record.data for record in records if isinstance(record, Chunk)] == [b"S"]
    with pytest.raises(BoardLostError):
        await queue.take(timeout_s=1.0)


async def test_a_second_opener_is_told_that_the_port_is_held(wire: SimpleNamespace) -> None:
    first, second = open_link(f"serial:{wire.path}"), open_link(f"serial:{wire.path}")
    await first.open(StreamQueue())
    with pytest.raises(BoardBusyError, match=f"Another program holds {wire.path}"):
        await second.open(StreamQueue())
    await first.close()
    await second.open(StreamQueue())
    await second.close()


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/dev/there-is-no-such-port", "There is no port /dev/there-is-no-such-port"),
        ("/dev/null", "/dev/null cannot be opened as a serial port"),
        ("/", "/ cannot be opened as a serial port"),
        ("COM5", "There is no port COM5"),
    ],
)
async def test_what_is_no_port(path: str, words: str) -> None:
    with pytest.raises(BoardNotFoundError, match=words):
        await open_link(f"serial:{path}").open(StreamQueue())


async def test_a_file_is_no_port(tmp_path: Path) -> None:
    (tmp_path / "file.txt").write_text("12\n", encoding="utf-8")
    with pytest.raises(BoardNotFoundError, match="cannot be opened as a serial port"):
        await open_link(f"serial:{tmp_path}/file.txt").open(StreamQueue())


@pytest.mark.parametrize(
    ("error", "platform", "kind", "words"),
    [
        (serial.SerialException(errno.EACCES, "no"), "linux", BoardError, "dialout"),
        (serial.SerialException(errno.EBUSY, "no"), "linux", BoardBusyError, "holds COM5"),
        (
            serial.SerialException("could not open port 'COM5': PermissionError(13, 'denied')"),
            "win32",
            BoardBusyError,
            "holds COM5",
        ),
        (
            serial.SerialException("could not open port 'COM5': FileNotFoundError(2, 'no')"),
            "win32",
            BoardNotFoundError,
            "no port COM5",
        ),
        (ValueError("strange"), "linux", BoardNotFoundError, "cannot be opened"),
    ],
)
async def test_reasons_of_other_systems(
    monkeypatch: pytest.MonkeyPatch,
    error: Any,
    platform: str,
    kind: type[BoardError],
    words: str,
) -> None:
    def refuse(*_: Any, **__: Any) -> None:
        raise error

    monkeypatch.setattr(serial, "Serial", refuse)
    monkeypatch.setattr(sys, "platform", platform)
    with pytest.raises(kind, match=words) as caught:
        await open_link("serial:COM5").open(StreamQueue())
    assert type(caught.value) is kind
    assert caught.value.__cause__ is error


def test_lists_ports_with_names_usb_first(monkeypatch: pytest.MonkeyPatch) -> None:
    def port(
        device: Any,
        *,
        vid: Any = None,
        product: Any = None,
        manufacturer: Any = None,
        description: Any = "n/a",
    ) -> SimpleNamespace:
        return SimpleNamespace(
            device=device,
            vid=vid,
            product=product,
            manufacturer=manufacturer,
            description=description,
        )

    found = [
        port("/dev/ttyS0"),
        port("/dev/ttyUSB1", vid=1, product="USB Serial", manufacturer="Some Maker"),
        port("/dev/ttyACM0", vid=2, description="Board"),
    ]
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: found)
    assert list_ports() == [
        Port("serial:/dev/ttyACM0", "Board", is_usb=True),
        Port("serial:/dev/ttyUSB1", "USB Serial, Some Maker", is_usb=True),
        Port("serial:/dev/ttyS0", "serial port", is_usb=False),
    ]


def test_lists_the_ports_of_this_computer(wire: SimpleNamespace) -> None:
    of_system = {f"serial:{found.device}" for found in comports()}
    assert {port.address for port in list_ports()} == of_system
    assert f"serial:{wire.path}" not in of_system


def plugs(*serials: tuple[str, str | None]) -> list[SimpleNamespace]:
    return [
        SimpleNamespace(device=path, vid=0x1A86, pid=0x7523, serial_number=serial)
        for path, serial in serials
    ]


@posix
@pytest.mark.parametrize("is_known", [True, False])
async def test_a_board_is_found_again_at_another_port_by_its_plug(
    monkeypatch: pytest.MonkeyPatch, *, is_known: bool
) -> None:
    first, second = open_pty(), open_pty()
    listed = plugs((first.path, "A1"), (second.path, "B2"))
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: listed)
    link, queue = open_link(f"serial:{first.path}"), StreamQueue()
    await link.open(queue)
    first.pull()
    with pytest.raises(BoardLostError):
        await some(queue)
    await link.close()
    listed = plugs((second.path, "A1" if is_known else "B2"))
    if not is_known:  # another board hangs there: it is left alone
        with pytest.raises(BoardNotFoundError):
            await link.open(queue)
    else:
        await link.open(queue)
        second.write(b"12\n")
        assert await take_bytes(queue, 3) == b"12\n"
        await link.close()
    second.pull()


@posix
async def test_of_two_plugs_that_look_the_same_none_is_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first, second = open_pty(), open_pty()
    listed = plugs((first.path, None))
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: listed)
    link, queue = open_link(f"serial:{first.path}"), StreamQueue()
    await link.open(queue)
    await link.close()
    first.pull()
    listed = plugs((second.path, None), ("/dev/ttyUSB7", None))
    with pytest.raises(BoardNotFoundError):
        await link.open(queue)
    second.pull()
