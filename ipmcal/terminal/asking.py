"""How a question is put on a terminal, and what stands for an answer where nobody is there."""

from __future__ import annotations

from collections.abc import Callable

import typer

from ipmcal.terminal.ending import complain


def asking(name: str) -> Callable[[str, str], str]:
    """A way to ask on the terminal; where the answers end early, ``name`` stands before the complaint."""

    def ask(question: str, default: str) -> str:
        try:
            answer: str = typer.prompt(question, default=default, show_default=bool(default))
        except (EOFError, typer.Abort):
            complain(name, "the answers ended early; nothing was written")
        return answer

    return ask


def unasked(name: str) -> Callable[[str, str], str]:
    """What stands for an answer where nobody can be asked: nothing is written without a yes."""

    def ask(question: str, default: str) -> str:
        complain(name, "nothing was written, since nobody is here to ask; if it is right, say it again with --sure")

    return ask
