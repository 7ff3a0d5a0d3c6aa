"""A journal's rows as text: what stands between cells, how a cell is quoted, and a file's text with rows behind it.

In: text, cells. Out: text. What stands in a file is kept as it is: its delimiter, its line ends, its order.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

COLUMNS = ("date", "yard", "colony", "event", "value", "note")
"""The cells of a journal line, in their order, and the headings of the file."""


def delimiter(text: str) -> str:
    """Semicolon or tab where the first line that holds anything has more of them than of commas, else comma.

    Some countries' spreadsheets write semicolons, since their numbers hold commas.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=first.count)


def row_text(cells: Sequence[str], between: str) -> str:
    """Cells as a line, without its end; cells with a delimiter or a double quote in them stand in double quotes.

    Blanks at the ends of a cell and line breaks in it do not come back when it is read.
    """
    return between.join(_cell(" ".join(cell.split()), between) for cell in cells)


def _cell(text: str, between: str) -> str:
    doubled = text.replace('"', '""')
    return f'"{doubled}"' if between in text or '"' in text else text


def appended(text: str, rows: Iterable[Sequence[str]]) -> str:
    """The text with rows behind it, written as its own lines are; a file that holds nothing gets the headings first.

    The last line has to be whole: where only its end of line is missing, that is added.
    """
    between, end = delimiter(text), _line_end(text)
    if not text.strip():
        text = between.join(COLUMNS) + end
    elif not text.endswith(("\n", "\r")):
        text += end
    return text + "".join(row_text(cells, between) + end for cells in rows)


def _line_end(text: str) -> str:
    """As the first line ends."""
    at = text.find("\n")
    if at < 0:
        return "\r" if "\r" in text else "\n"
    return "\r\n" if text[at - 1 : at] == "\r" else "\n"
