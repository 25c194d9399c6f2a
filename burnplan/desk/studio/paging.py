"""Long lists, a page at a time."""

from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy import GenerativeSelect

Query = TypeVar("Query", bound=GenerativeSelect)


@dataclass(frozen=True, slots=True)
class ListPage:
    """Which page of a list is wanted.

    Parameters
    ----------
    number : int
        From 1.
    rows : int
        How many rows a page has.
    """

    number: int
    rows: int

    def of(self, query: Query) -> Query:
        """Return a query for this page only of what another finds."""
        return query.limit(self.rows).offset((self.number - 1) * self.rows)


# All of a list, on one page.
ALL = ListPage(1, 1_000_000_000)  # by definition
