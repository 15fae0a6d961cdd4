"""Kombu's filesystem transport, with messages that appear whole.

The stock transport creates a message under its final name and then fills it, so a worker that polls
between the two reads half a message. Here it is written aside and renamed into place.
"""

from __future__ import annotations

import os
import uuid
from pathlib import Path
from time import monotonic
from typing import Any

from kombu.transport import filesystem
from kombu.utils.json import dumps


class Channel(filesystem.Channel):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[no-untyped-call]  # kombu has no types
        for folder in (self.data_folder_in, self.data_folder_out, self.control_folder):
            Path(folder).mkdir(parents=True, exist_ok=True)

    # Its two base classes name the second argument differently.
    def _put(self, queue: str, payload: Any, **kwargs: Any) -> None:  # type: ignore[override]
        name = f"{round(monotonic() * 1000)}_{uuid.uuid4()}.{queue}.msg"
        final = Path(self.data_folder_out) / name
        # Only names that end in `.<queue>.msg` are read, so this one is not seen yet.
        partial = final.with_suffix(".part")
        text: str = dumps(payload)  # type: ignore[no-untyped-call]  # kombu has no types
        partial.write_text(text, encoding="utf-8")
        os.replace(partial, final)


class Transport(filesystem.Transport):
    Channel = Channel
