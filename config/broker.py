"""The broker that needs no server: messages as files in the data folder.

Kombu's own file transport writes a message, and the table of queues, in place: a reader may see half of it,
and a process killed while writing leaves half of it for good. Here both appear under their name only when
complete. A message taken by a worker that is then killed is still lost; what is owed is a row, and the
sweep sends its message again.
"""

import os
import uuid
from pathlib import Path
from queue import Empty
from time import monotonic_ns
from typing import Any

from kombu.transport import filesystem
from kombu.utils.encoding import bytes_to_str
from kombu.utils.json import dumps, loads


def write_whole(path: Path, text: str) -> None:
    draft = path.with_name(f"{path.name}.{uuid.uuid4().hex}.draft")
    draft.write_text(text, encoding="utf-8")
    draft.replace(path)


class Channel(filesystem.Channel):
    def _put(self, queue: str, payload: Any, **kwargs: Any) -> None:  # type: ignore[override]
        name = f"{monotonic_ns():020d}_{uuid.uuid4()}.{queue}.msg"
        write_whole(Path(self.data_folder_out) / name, dumps(payload))

    def get_table(self, exchange: str) -> Any:
        try:
            return list(super().get_table(exchange))
        except ValueError:
            return []  # cut short by a power cut; the next declaration writes it again

    def _queue_bind(
        self, exchange: str, routing_key: str | None, pattern: str | None, queue: str | None
    ) -> None:
        entry = filesystem.exchange_queue_t(routing_key or "", pattern or "", queue or "")
        table = self.get_table(exchange)
        if entry not in table:
            file = self._exchange_file(exchange)  # type: ignore[attr-defined]  # missing in the stubs
            write_whole(file, dumps([entry, *table]))

    def _get(self, queue: str, timeout: float | None = None) -> Any:
        """Take the oldest message by renaming it, which one worker alone can do."""
        suffix = f".{queue}.msg"
        folder = Path(self.data_folder_in)
        for message in sorted(folder.glob(f"*{suffix}")):
            taken = message.with_name(f"{message.name}.{os.getpid()}.taken")
            try:
                message.rename(taken)
            except FileNotFoundError:
                continue  # another worker has it
            try:
                return loads(bytes_to_str(taken.read_bytes()))
            except ValueError:
                continue  # damaged from outside; the row it spoke of is still owed
            finally:
                taken.unlink(missing_ok=True)
        raise Empty


class Transport(filesystem.Transport):
    Channel = Channel
