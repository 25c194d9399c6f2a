"""What the desk hands out and takes: values that are checked, and written as JSON."""

from pydantic import BaseModel, ConfigDict


class View(BaseModel):
    """Base of what desk functions take and return.

    Its checks are built when first used: a command needs few of all there are.
    """

    model_config = ConfigDict(defer_build=True)
