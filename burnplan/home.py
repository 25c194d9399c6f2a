"""Where the user's own book and photos are."""

import os
from pathlib import Path

from burnplan.errors import BadInput
from burnplan.files import given_path


def own_home() -> Path:
    """Return the folder that BURNPLAN_HOME names, else the platform's data folder.

    Raises
    ------
    BadInput
        If BURNPLAN_HOME is a file.
    """
    named = os.environ.get("BURNPLAN_HOME", "")
    if not named.strip():
        from platformdirs import user_data_path

        return user_data_path("burnplan", appauthor=False)
    home = given_path(named)
    if home.is_file():
        raise BadInput(f"BURNPLAN_HOME is {home}, a file", "Set it to a folder")
    return home
