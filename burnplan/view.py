"""What the desk hands out and takes: values that are checked, and written as JSON."""

from typing import Any, Self

from pydantic import BaseModel, ConfigDict


class View(BaseModel):
    """Base of what desk functions take and return.

    Its checks are built when first used: a command needs few of all there are.
    """

    model_config = ConfigDict(defer_build=True)

    @classmethod
    def of(cls, record: object, **other: Any) -> Self:
        """Return a record as shown: each field is the record's own of that name, or among others.

        Examples
        --------
        >>> class Angle(View):
        ...     real: int
        ...     unit: str
        >>> Angle.of(3, unit="degrees")
        Angle(real=3, unit='degrees')
        """
        own = {name: getattr(record, name) for name in cls.model_fields if name not in other}
        return cls(**own, **other)

    def given(self) -> str:
        """Return in words which of its fields are given: what a change changes.

        Examples
        --------
        >>> class Change(View):
        ...     size: str | None = None
        ...     no_due: bool = False
        >>> Change(size="9cm", no_due=True).given(), Change().given()
        ('size, no due', '')
        """
        return ", ".join(self.model_dump(exclude_defaults=True)).replace("_", " ")
