"""Self-contained HTML pages from the templates of ``cli/templates``. Pure: values → text.

Whatever a template prints is escaped, a name that it does not know is an error, and the filters of a
template are the words of the other views: ``{{ 6.1e-4 | quantity("H") }}``. Pictures go in through
``inline_svg``, which lets nothing pass that would reach out of the page or run.
"""

from __future__ import annotations

import functools
import re
import xml.etree.ElementTree as ElementTree
from typing import TYPE_CHECKING, Any

from ...predict.notation import format_percent, format_quantity, format_range, format_uncertain
from . import words
from .page import unbroken, visible

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

_SVG = "http://www.w3.org/2000/svg"
_LINK = "http://www.w3.org/1999/xlink"
_KEPT = {_SVG: "", _LINK: "xlink:", "http://www.w3.org/XML/1998/namespace": "xml:"}
_REFUSED = {"script", "style", "foreignObject", "iframe", "image", "a", "audio", "video", "animate", "set"}
"""Elements that run, move or lead out of the page."""
_POINTING = ("href", "xlink:href")


def render_template(template: str, **values: Any) -> str:
    """The page that a template makes of its values.

    Parameters
    ----------
    template : str, name of a file in ``cli/templates``
    **values : Any, what the template asks for

    Raises
    ------
    jinja2.UndefinedError
        The template asks for a value that is not given: a fault of the tool.
    jinja2.TemplateNotFound
        There is no such template: a fault of the tool.
    """
    return _environment().get_template(template).render(**values).rstrip("\n") + "\n"


@functools.cache
def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    environment = Environment(
        loader=FunctionLoader(_template),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    environment.filters.update(
        quantity=format_quantity,
        unbroken=unbroken,
        breakable=breakable,
        uncertain=format_uncertain,
        range=format_range,
        percent=format_percent,
        reading=words.quantity_text,
        reading_uncertain=words.uncertain,
        limits=words.limits,
        frequency=words.frequency,
        score=words.score,
        probability=words.per_cent,
        svg=inline_svg,
    )
    environment.globals["version"] = _version
    return environment


LONG_WORD = 24
"""Letters of a word from which it may be parted after its underlines, dashes and slashes."""


def breakable(text: str) -> Markup:
    """A text, escaped, as ``unbroken`` gives it, in which a very long word (the serial number of a part) may
    be parted where its pieces end (``<wbr>``), and is not parted within one."""
    from markupsafe import Markup, escape

    words_of_text = []
    for word in unbroken(text).split(" "):
        pieces = re.split(r"(?<=[_/.:])|(?<=-)(?=\w)", word) if len(word) > LONG_WORD else [word]
        words_of_text.append(Markup("<wbr>").join(escape(piece) for piece in pieces if piece))
    return Markup(" ").join(words_of_text)


def _template(name: str) -> str | None:
    from importlib.resources import files

    file = files("aswound.cli").joinpath("templates", name)
    return file.read_text(encoding="utf-8") if file.is_file() else None


def _version() -> str:
    from importlib.metadata import version

    return version("aswound")


def _shown(value: Any) -> Any:
    """What a template prints of ``value``: control characters made visible, None refused."""
    if value is None:
        raise ValueError("a template printed a missing value: say what goes there instead")
    return visible(value) if type(value) is str else value


def inline_svg(text: str, prefix: str) -> Markup:
    """An SVG document as markup inside a page.

    Declarations, comments and metadata are left out; what is drawn keeps its order.

    Parameters
    ----------
    text : str, the document
    prefix : str
        Put before each of its ids, so that two pictures never share one (a letter first, unique on the page);
        the picture itself gets it as its id.

    Raises
    ------
    ValueError
        The text is no SVG, or it runs or reaches out of the page: scripts, style sheets, handlers, foreign
        content, links other than to an id of its own.
    """
    from markupsafe import Markup

    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as error:
        raise ValueError(f"not well-formed: {error}") from error
    if root.tag != f"{{{_SVG}}}svg":
        raise ValueError(f"no SVG document but {root.tag}")
    if not re.fullmatch(r"[A-Za-z][\w-]*", prefix):
        raise ValueError(f"a prefix of ids is a letter, then letters, digits, - and _: {prefix!r}")
    root.attrib.pop("id", None)
    pieces: list[str] = []
    _written(root, f"{prefix}-", pieces)
    return Markup("".join(pieces))


def _written(element: ElementTree.Element, prefix: str, pieces: list[str]) -> None:
    """Append ``element`` and what it holds as markup."""
    from markupsafe import escape

    space, name = _split(str(element.tag))
    if space != _SVG or name == "metadata":
        return
    if name in _REFUSED:
        raise ValueError(f"an element that is not allowed in a page: {name}")
    attributes = [f' id="{prefix[:-1]}"'] if name == "svg" and not pieces else []
    for key, value in element.attrib.items():
        where, plain = _split(key)
        if where not in (None, *_KEPT):
            continue
        full = plain if where is None else _KEPT[where] + plain
        if plain.lower().startswith("on") or (full in _POINTING and not value.startswith("#")):
            raise ValueError(f"an attribute that is not allowed in a page: {full}={value!r}")
        attributes.append(f' {full}="{escape(_renamed(full, value, prefix))}"')
    body = escape(element.text or "")
    pieces.append(f"<{name}{''.join(attributes)}>{body}")
    for child in element:
        if isinstance(child.tag, str):
            _written(child, prefix, pieces)
        pieces.append(str(escape(child.tail or "")))
    pieces.append(f"</{name}>")


def _split(tag: str) -> tuple[str | None, str]:
    """(namespace, name) of a tag or an attribute."""
    space, brace, name = tag[1:].partition("}")
    return (space, name) if tag.startswith("{") and brace else (None, tag)


def _renamed(key: str, value: str, prefix: str) -> str:
    """An attribute's value with every id of the document under ``prefix``."""
    if key == "id":
        return prefix + value
    if key in ("aria-labelledby", "aria-describedby"):
        return " ".join(prefix + part for part in value.split())
    if key in _POINTING:
        return f"#{prefix}{value[1:]}"
    return _addresses(value, prefix)


def _addresses(value: str, prefix: str) -> str:
    def replace(match: re.Match[str]) -> str:
        target = match.group(1).strip("'\" ")
        if not target.startswith("#"):
            raise ValueError(f"an address outside the page: {match.group(0)}")
        return f"url(#{prefix}{target[1:]})"

    return re.sub(r"url\(([^)]*)\)", replace, value)
