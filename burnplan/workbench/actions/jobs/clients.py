"""Clients: added, changed, two made one, removed, and what they ordered."""

from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.jobs import clients
from burnplan.desk.jobs.clients import ClientDetails, ClientView, Ordered
from burnplan.workbench import drawing
from burnplan.workbench.actions.action import Action
from burnplan.workbench.drawing import SOFT, STRONG, money
from burnplan.workbench.forms import Answers, Choice, Field, Form

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.gather import Now

_DETAILS = {
    "email": ("E-mail", "mara@example.org"),
    "phone": ("Phone", "a number"),
    "address": ("Address", "for letters and parcels"),
    "note": ("Note", "anything worth remembering"),
}


def _fields(one: ClientView | None = None) -> list[Field]:
    details = [
        Field(name, label, hint, getattr(one, name) if one else "")
        for name, (label, hint) in _DETAILS.items()
    ]
    return [Field("name", "Name", "as on letters", one.name if one else ""), *details]


def _details(answers: Answers) -> ClientDetails:
    return ClientDetails(**{name: answers[name] for name in _DETAILS})


def add(bench: "Workbench") -> None:
    """Add a client who has ordered nothing yet."""

    def send(answers: Answers) -> ClientView:
        return clients.add(bench.studio, answers["name"], _details(answers))

    bench.ask(
        Form("New client", _fields(), send, send="Add"),
        lambda made: bench.say(f"{made.name} is {made.code}"),
    )


def edit(bench: "Workbench") -> None:
    """Change what is known of the client the cursor is on."""
    one = bench.client
    if one is None:
        return

    def send(answers: Answers) -> ClientView:
        return clients.edit(bench.studio, one.code, _details(answers), answers["name"])

    bench.ask(Form(f"{one.code}: what is known", _fields(one), send, send="Change it"))


def merge(bench: "Workbench") -> None:
    """Make the client the cursor is on, and another who is the same, one."""
    one = bench.client
    if one is None:
        return

    def into(code: str) -> None:
        bench.do(
            lambda: clients.merge(bench.studio, one.code, code),
            lambda kept: bench.say(f"{one.name} is {kept.name} now; u takes it back"),
        )

    def choose(found: list[ClientView]) -> None:
        others = [other for other in found if other.code != one.code]
        if not others:
            bench.say("There is no other client")
            return
        choices = [
            (other.code, Content.assemble((f"{other.code}  ", SOFT), (other.name, STRONG)))
            for other in others
        ]
        bench.choose(Choice(f"{one.name} is the same as", choices), into)

    bench.find(lambda: clients.everyone(bench.studio), choose)


def remove(bench: "Workbench") -> None:
    """Remove the client the cursor is on, who ordered nothing."""
    one = bench.client
    if one is not None:
        bench.do(
            lambda: clients.remove(bench.studio, one.code),
            lambda name: bench.say(f"{name} is removed; u takes it back"),
        )


def jobs(bench: "Workbench") -> None:
    """Show what the client the cursor is on ordered, paid and owes; one of them can be opened."""
    one = bench.client
    if one is None:
        return

    def show(view: ClientView) -> None:
        now = bench.now
        if now is None:
            return
        if not view.jobs:
            bench.say(f"{view.name} has ordered nothing yet")
            return
        choices = [(job.code, _job_line(job, now)) for job in view.jobs]

        def turn_to(code: str) -> None:
            bench.open_job(code)

        bench.choose(Choice(f"{view.code} {view.name}", choices), turn_to)

    bench.find(lambda: clients.show(bench.studio, one.code), show)


def _job_line(job: Ordered, now: "Now") -> Content:
    owed = f", owes {money(now, job.balance, job.currency)}" if job.balance > 0 else ""
    paid = f"paid {money(now, job.received, job.currency)}{owed}"
    return Content.assemble(
        (f"{job.code}  ", SOFT), (drawing.fitted(job.title, 20), STRONG), "  ",
        drawing.fitted(job.stage.value, 12), (paid, SOFT),
    )  # fmt: skip


def _on_one(bench: "Workbench") -> bool:
    return bench.client is not None


ACTIONS = (
    Action("new_client", "New client", "Who has ordered nothing yet", add,
           key="a", short="New client", page="clients"),
    Action("client_jobs", "What a client ordered", "With what was paid and is owed", jobs, _on_one,
           key="enter", short="Jobs", page="clients"),
    Action("edit_client", "Edit client", "What is known of the one the cursor is on", edit,
           _on_one, key="e", short="Edit", page="clients"),
    Action("merge_client", "Merge client", "Two who are the same become one", merge, _on_one,
           key="m", short="Merge", page="clients"),
    Action("remove_client", "Remove client", "Who ordered nothing", remove, _on_one,
           key="x", short="Remove", page="clients"),
)  # fmt: skip
