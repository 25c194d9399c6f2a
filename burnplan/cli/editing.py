"""Text opened in the editor that a person uses, before it goes on."""

import os
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

from burnplan.errors import BadInput, OperationFailed


def edited(text: str, name: str) -> str:
    """Return a text as it was left in the editor of VISUAL or EDITOR.

    Parameters
    ----------
    text : str
    name : str
        Of the file it is shown in, such as ``ready.txt``.

    Raises
    ------
    BadInput
        If no editor is named.
    OperationFailed
        If it cannot be started, or says that it failed.
    """
    command = os.environ.get("VISUAL") or os.environ.get("EDITOR")
    if not command:
        if sys.platform == "win32":
            command = "notepad"
        else:
            raise BadInput("No editor is named", "Set EDITOR, for example to nano")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / name
        file.write_text(text, encoding="utf-8")
        try:
            done = subprocess.run([*shlex.split(command), str(file)], check=False)  # noqa: S603 the person's own editor
        except (OSError, ValueError) as error:
            raise OperationFailed(
                f"The editor '{command}' cannot be started: {error}", "Set EDITOR to another one"
            ) from None
        if done.returncode:
            raise OperationFailed(
                f"The editor '{command}' said that it failed", "Nothing was written; try again"
            )
        return file.read_text(encoding="utf-8", errors="replace")
