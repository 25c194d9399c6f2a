"""What every page has: something it gathers on a thread, and how it shows that."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar, cast

from burnplan.desk.studio.studio import Studio
from burnplan.workbench.gather import Now
from burnplan.workbench.holding import Down
from burnplan.workbench.listing import Listing

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench

Found = TypeVar("Found")


class WorkbenchPage(Down, Generic[Found]):
    """A page of the workbench."""

    MAIN: ClassVar[str]
    """The list that the keys go to."""

    def __init__(self, studio: Studio, name: str) -> None:
        super().__init__(id=name, classes="page")
        self.studio = studio

    @property
    def bench(self) -> "Workbench":
        """The workbench it is a page of."""
        return cast("Workbench", self.app)

    def look_up(self) -> Found:
        """Return what the page needs to know; called on a thread."""
        raise NotImplementedError

    def give(self, now: Now, found: Found) -> None:
        """Show it."""
        raise NotImplementedError

    @property
    def listing(self) -> Listing:
        """The list that the keys go to."""
        return self.query_one(self.MAIN, Listing)

    def take_keys(self) -> None:
        """Let the keys go to where they are wanted."""
        self.screen.set_focus(self.listing.lines)

    def may_go(self, go: Callable[[], Any]) -> bool:  # noqa: ARG002  a page may do it later
        """Return whether one can go elsewhere now; a page that asks first does so, then goes."""
        return True

    @property
    def meant(self) -> str | None:
        """The code of the job that a key is meant for, if there is one."""
        return None
