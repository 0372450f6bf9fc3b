"""Messages as files, with several processes at once."""

import multiprocessing
from multiprocessing.pool import Pool
from pathlib import Path
from queue import Empty

import pytest
from kombu import Connection
from kombu.transport.virtual import BrokerState

from config import broker

QUEUE = "burnline"
WRITERS, READERS, EACH = 3, 2, 150


def connect(folder: Path) -> Connection:
    options = {"data_folder_in": str(folder), "data_folder_out": str(folder), "control_folder": str(folder)}

    class Transport(broker.Transport):
        # Kombu remembers for a whole process which queues it declared; here each folder is another broker.
        global_state = BrokerState()

    return Connection("filesystem://", transport=Transport, transport_options=options)


def send(folder: Path, writer: int) -> None:
    with connect(folder) as connection, connection.SimpleQueue(QUEUE) as queue:
        for number in range(EACH):
            queue.put({"id": writer * EACH + number, "padding": "x" * 2000})


def receive(folder: Path) -> list[int]:
    """Everything this reader got until nothing had come for two seconds."""
    found: list[int] = []
    with connect(folder) as connection, connection.SimpleQueue(QUEUE) as queue:
        while True:
            try:
                message = queue.get(timeout=2)
            except Empty:
                return found
            found.append(message.payload["id"])
            message.ack()


def test_every_message_arrives_whole_and_once_while_many_write_and_read(tmp_path: Path) -> None:
    pool: Pool
    with multiprocessing.get_context("spawn").Pool(WRITERS + READERS) as pool:
        readers = [pool.apply_async(receive, (tmp_path,)) for _ in range(READERS)]
        writers = [pool.apply_async(send, (tmp_path, writer)) for writer in range(WRITERS)]
        for writing in writers:
            writing.get(60)
        got = [number for reading in readers for number in reading.get(60)]
    assert sorted(got) == list(range(WRITERS * EACH))
    assert [path.name for path in tmp_path.iterdir() if not path.name.endswith(".exchange")] == []


def test_the_oldest_message_comes_first(tmp_path: Path) -> None:
    send(tmp_path, 0)
    assert receive(tmp_path) == list(range(EACH))


@pytest.mark.parametrize("content", [b"", b'{"half": ', b"\xff\xfe"])
def test_a_damaged_message_is_passed_over(tmp_path: Path, content: bytes) -> None:
    (tmp_path / f"00_damaged.{QUEUE}.msg").write_bytes(content)
    with connect(tmp_path) as connection, connection.SimpleQueue(QUEUE) as queue:
        queue.put({"id": 1})
        assert queue.get(timeout=5).payload == {"id": 1}


@pytest.mark.parametrize("content", [b"", b'[["half'])
def test_a_table_of_queues_cut_short_by_a_crash_is_made_again(tmp_path: Path, content: bytes) -> None:
    (tmp_path / f"{QUEUE}.exchange").write_bytes(content)
    with connect(tmp_path) as connection, connection.SimpleQueue(QUEUE) as queue:
        queue.put({"id": 1})
        assert queue.get(timeout=5).payload == {"id": 1}
