"""A workbook's archive (XLSX) → the cells of its sheets that hold something, as text.

Numbers keep all their digits, in per cent or with the unit that their cell's format shows. A formula without
a saved value, an error in a cell and a cell that stands twice are faults of the sheet.

Source: ECMA-376 part 1 (Office Open XML), 18.3.1, 18.8.30 (formats of numbers), 18.17.4 (dates).
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from xml.parsers import expat

from ...predict.errors import Fault, ReadingsError
from ...predict.plain_text import LARGEST_READINGS

MOST_CELLS = 500_000
"""Most cells of a sheet in the file, empty ones too (bounds work, not results)."""
_DATES = {*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)}
"""Built-in formats of dates and times (ECMA-376, 18.8.30, from memory)."""
_PERCENT = {9: "0%", 10: "0.00%"}
"""Built-in formats in per cent (ECMA-376, 18.8.30, from memory)."""
_UNIT = re.compile(r'(?:General|[#0?., ]*[#0?.])(?:E[+-]0+)?(?P<unit>(?:"[^"]*"|\\.|_.| )+)')
"""A format that shows text behind a number: ``0.0" uH"``."""
ALLOWED = "a workbook (XLSX) or text (CSV)"
HINT = "Save the sheet as CSV UTF-8, or as a workbook (XLSX) without a password."


@dataclass
class CellSheet:
    """A sheet of cells.

    Attributes
    ----------
    title : str, its name
    hidden : bool, whether it is not shown
    cells : dict[tuple[int, int], str], text of cells that hold something, by row and column (counts from 1)
    merged : list[str], ranges of cells that are merged, "A2:A4"
    faults : list[Fault], what is wrong with cells
    """

    title: str
    hidden: bool
    cells: dict[tuple[int, int], str] = field(default_factory=dict)
    merged: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


@dataclass(frozen=True)
class _Styles:
    """Formats of the workbook: the format's code or number of each style, and where its dates begin."""

    codes: Sequence[str]
    origin: datetime

    def shown(self, value: str, style: str) -> str:
        """A number as text, with what its cell's format shows of its meaning."""
        code = self.codes[int(style)] if style.isdigit() and int(style) < len(self.codes) else ""
        number = float(value)
        bare = re.sub(r'"[^"]*"|\\.|\[[^\]]*\]', "", code)
        if code == "date" or (re.search(r"[dmyhs]", bare, re.IGNORECASE) and "General" not in bare):
            try:
                moment = self.origin + timedelta(days=number)
            except OverflowError:
                return value
            return str(moment.time() if 0 <= number < 1 else moment).removesuffix(" 00:00:00")
        if "%" in bare:
            return f"{number * 100:.15g} %"
        text = value if re.fullmatch(r"-?\d+", value) else repr(number)
        unit = _UNIT.fullmatch(code.partition(";")[0])
        return text + (re.sub(r'"|\\|_.', "", unit["unit"]) if unit else "")


def sheets_of(data: bytes, name: str) -> list[CellSheet]:
    """Every sheet of cells, in the workbook's order.

    Parameters
    ----------
    data : bytes, the file
    name : str, name of the file, for messages

    Raises
    ------
    ReadingsError
        The file is no workbook, or unpacks to more than a readings file may hold.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_size(archive, name)
            return _sheets(archive)
    except Exception as error:  # a broken archive can raise anything
        if isinstance(error, ReadingsError):
            raise
        found = str(error) if isinstance(error, OverflowError) else "an archive that is no workbook"
        raise ReadingsError(Fault("the file", found, ALLOWED, HINT, name)) from error


def _check_size(archive: zipfile.ZipFile, name: str) -> None:
    """ReadingsError for too much to unpack by the stated sizes, beyond which the unpacker reads nothing."""
    size = sum(item.file_size for item in archive.infolist())
    if size > LARGEST_READINGS:
        allowed = f"a workbook of at most {LARGEST_READINGS / 1e6:g} MB, unpacked"
        raise ReadingsError(Fault("the file", f"{size / 1e6:.0f} MB, unpacked", allowed, "", name))


def _walk(
    data: bytes, begin: Callable[[str, dict[str, str]], None], end: Callable[[str, str], None] | None = None
) -> None:
    """Calls for the beginning of each element, and for its end with the text since the last one began; names
    without namespaces. A document type, which may define what grows, is refused."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    texts: list[str] = []

    def begun(tag: str, attributes: dict[str, str]) -> None:
        texts.clear()
        begin(tag.rpartition(" ")[2], {key.rpartition(" ")[2]: value for key, value in attributes.items()})

    def ended(tag: str) -> None:
        if end is not None:
            end(tag.rpartition(" ")[2], "".join(texts))
        texts.clear()

    def refused(*_: object) -> None:
        raise ValueError("a document type")

    parser.StartElementHandler = begun
    parser.EndElementHandler = ended
    parser.CharacterDataHandler = texts.append
    parser.StartDoctypeDeclHandler = refused
    parser.Parse(data, True)


def _elements(data: bytes, *names: str) -> list[dict[str, str]]:
    """Attributes of all elements of some names, each with its name as ``""``."""
    found: list[dict[str, str]] = []
    _walk(data, lambda tag, attributes: found.append({**attributes, "": tag}) if tag in names else None)
    return found


def _related(archive: zipfile.ZipFile, part: str) -> dict[str, tuple[str, str]]:
    """Parts that a part refers to: identifier → (last word of the kind, path)."""
    folder, file = posixpath.split(part)
    path = posixpath.join(folder, "_rels", f"{file}.rels")
    if path not in archive.namelist():
        return {}
    return {
        item["Id"]: (
            item["Type"].rpartition("/")[2],
            posixpath.normpath(posixpath.join("/", folder, item["Target"])).lstrip("/"),
        )
        for item in _elements(archive.read(path), "Relationship")
        if item.get("TargetMode") != "External"
    }


def _sheets(archive: zipfile.ZipFile) -> list[CellSheet]:
    """Every sheet of cells, in the workbook's order."""
    (book,) = [path for kind, path in _related(archive, "").values() if kind == "officeDocument"]
    parts = _related(archive, book)
    by_kind = dict(parts.values())
    strings = _strings(archive.read(by_kind["sharedStrings"])) if "sharedStrings" in by_kind else []
    elements = _elements(archive.read(book), "sheet", "workbookPr")
    old = any(item.get("date1904") in ("1", "true") for item in elements)
    styles = archive.read(by_kind["styles"]) if "styles" in by_kind else b"<none/>"
    formats = _Styles(_codes(styles), datetime(1904, 1, 1) if old else datetime(1899, 12, 30))
    result = []
    for item in elements:
        kind, path = parts[item["id"]] if item[""] == "sheet" else ("", "")
        if kind == "worksheet":
            sheet = CellSheet(item["name"], item.get("state", "visible") != "visible")
            _read_cells(archive.read(path), sheet, strings, formats)
            result.append(sheet)
    return result


def _strings(data: bytes) -> list[str]:
    """The texts that cells refer to, without how their characters are read (rPh)."""
    texts, inside = list[str](), list[str]()

    def begin(tag: str, _: Mapping[str, str]) -> None:
        inside.append(tag)
        if tag == "si":
            texts.append("")

    def end(tag: str, text: str) -> None:
        inside.pop()
        if tag == "t" and "rPh" not in inside:
            texts[-1] += text

    _walk(data, begin, end)
    return texts


def _codes(data: bytes) -> list[str]:
    """For each style of cells the code of its numbers' format, "date" for a built-in one of dates."""
    elements = _elements(data, "numFmt", "cellXfs", "cellStyles", "xf")
    custom = {item["numFmtId"]: item["formatCode"] for item in elements if item[""] == "numFmt"}
    codes, of_cells = [], False
    for item in elements:
        of_cells = item[""] == "cellXfs" or (of_cells and item[""] != "cellStyles")
        if of_cells and item[""] == "xf":
            number = item.get("numFmtId", "0")
            built_in = "date" if int(number) in _DATES else _PERCENT.get(int(number), "")
            codes.append(custom.get(number, built_in))
    return codes


def _read_cells(data: bytes, sheet: CellSheet, strings: Sequence[str], styles: _Styles) -> None:
    """The cells of a sheet that hold something, and what is wrong with them."""
    left = iter(range(MOST_CELLS, 0, -1))
    row, column, inside = 0, 0, list[str]()
    cell: dict[str, str] = {}

    def begin(tag: str, attributes: dict[str, str]) -> None:
        nonlocal row, column, cell
        inside.append(tag)
        if tag == "mergeCell":
            sheet.merged.append(attributes["ref"])
        elif tag == "row":
            row, column = int(attributes.get("r", row + 1)), 0
        elif tag == "c":
            if not next(left, 0):
                raise OverflowError(f"more than {MOST_CELLS} cells in the sheet {sheet.title!r}")
            cell, column = attributes, column + 1
            row, column = position(attributes.get("r", "")) or (row, column)

    def end(tag: str, text: str) -> None:
        inside.pop()
        if tag in ("v", "f") and "c" in inside:
            cell[f" {tag}"] = text
        elif tag == "t" and "is" in inside and "rPh" not in inside:
            cell[" v"] = cell.get(" v", "") + text
        elif tag == "c":
            _keep(sheet, (row, column), cell, strings, styles)

    _walk(data, begin, end)


def position(reference: str) -> tuple[int, int] | None:
    """Row and column of a cell, counts from 1: "C2" → (2, 3); None if the text names no cell."""
    place = re.fullmatch(r"([A-Z]{1,8})(\d{1,12})", reference)
    if place is None:
        return None
    column = 0
    for letter in place[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(place[2]), column


def _keep(
    sheet: CellSheet, at: tuple[int, int], cell: Mapping[str, str], strings: Sequence[str], styles: _Styles
) -> None:
    """One cell (attributes, value " v", formula " f") into the sheet."""
    kind, value = cell.get("t", "n"), cell.get(" v", "")
    place = f"line {at[0]}, column {at[1]}"
    if kind == "e":
        sheet.faults.append(Fault(place, f"the error {value}", "a value"))
    elif " f" in cell and not value and kind != "str":
        hint = "Open and save the workbook where its formulas are computed, or type the value."
        found = f"the formula {'=' + cell[' f'][:39]!r} without a saved value"
        sheet.faults.append(Fault(place, found, "a value", hint))
    if kind == "s" and value:
        value = strings[int(value)]
    elif kind == "b":
        value = "True" if value == "1" else "False"
    elif kind == "n" and value:
        value = styles.shown(value, cell.get("s", "0"))
    if not value:
        return
    if at in sheet.cells:
        found = f"the cell twice, {sheet.cells[at]!r} and {value!r}"
        sheet.faults.append(Fault(place, found, "every cell once"))
    sheet.cells[at] = value
