"""Pages of HTML: escaping, missing values, pictures that stay inside the page."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from jinja2 import DictLoader, TemplateNotFound, UndefinedError

from aswound.cli.views import html_page
from aswound.cli.views.html_page import inline_svg, render_template

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{}</svg>'


@pytest.fixture
def template(monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """Templates of the test's own, in place of the package's."""
    sources: dict[str, str] = {}
    environment = html_page._environment().overlay(loader=DictLoader(sources))
    monkeypatch.setattr(html_page, "_environment", lambda: environment)
    return sources


def test_values_are_escaped_and_controls_shown(template: dict[str, str]) -> None:
    template["t"] = '<p title="{{ x }}">{{ x }}</p>'
    assert render_template("t", x='a <b> & "c" \x1b[1m') == (
        '<p title="a &lt;b&gt; &amp; &#34;c&#34; \\x1b[1m">a &lt;b&gt; &amp; &#34;c&#34; \\x1b[1m</p>\n'
    )


def test_missing_values_are_faults(template: dict[str, str]) -> None:
    template["t"] = "{{ x }}"
    with pytest.raises(UndefinedError):
        render_template("t")
    with pytest.raises(ValueError, match="missing value"):
        render_template("t", x=None)
    with pytest.raises(TemplateNotFound):
        render_template("nothing.html")


def test_quantities(template: dict[str, str]) -> None:
    template["t"] = (
        "{{ x | quantity('H') }}, {{ x | uncertain(1e-6, 'H') | unbroken }}, {{ 1.0 | reading('ratio') }}"
    )
    assert render_template("t", x=6.142e-4) == "614.2 µH, 614.2\u00a0±\u00a02.0\u00a0µH, 1.000\n"


def test_base_stands_alone() -> None:
    """The frame itself: complete, nothing from elsewhere, no script."""
    page = render_template("base.html")
    assert page.startswith("<!DOCTYPE html>")
    assert "<script" not in page
    assert "http" not in page
    assert "@import" not in page


def test_two_pictures_share_no_id() -> None:
    drawing = (Path(__file__).parents[1] / "regression" / "drawings" / "bridge-300w.svg").read_text("utf-8")
    pages = [ElementTree.fromstring(str(inline_svg(drawing, name))) for name in ("a", "b")]
    ids = [{element.get("id") for element in page.iter()} - {None} for page in pages]
    assert len(ids[0]) == len(ids[1]) > 4
    assert not ids[0] & ids[1]
    for page, own in zip(pages, ids, strict=True):
        used = {
            value.split("#")[1].rstrip(")")
            for element in page.iter()
            for value in element.attrib.values()
            if value.startswith("url(#")
            or (value.startswith("#") and not re.fullmatch("#[0-9a-f]{3,6}", value))
        }
        assert used
        assert used <= own
        assert set((page.get("aria-labelledby") or "").split()) <= own


def test_picture_keeps_text_and_order() -> None:
    text = SVG.format("<!-- gone --><metadata>gone</metadata><text>a &lt; b<tspan>c</tspan>d</text><g/>")
    assert str(inline_svg(text, "p")) == (
        '<svg id="p" viewBox="0 0 9 9"><text>a &lt; b<tspan>c</tspan>d</text><g></g></svg>'
    )


@pytest.mark.parametrize(
    "inside",
    [
        "<script>1</script>",
        '<a href="#x"/>',
        '<use href="http://example.org/x#y"/>',
        '<rect onclick="x()"/>',
        '<rect fill="url(http://example.org/x)"/>',
        '<rect style="fill: url(&quot;http://example.org/x&quot;)"/>',
        "<style>@import url(x)</style>",
        "<style>.page{display:none}</style>",
        "<foreignObject/>",
        "<g>",
    ],
)
def test_pictures_that_reach_out_are_refused(inside: str) -> None:
    with pytest.raises(ValueError, match=r"allowed|outside|well-formed"):
        inline_svg(SVG.format(inside), "p")


def test_no_picture_and_no_prefix_are_refused() -> None:
    with pytest.raises(ValueError, match="no SVG"):
        inline_svg("<html/>", "p")
    with pytest.raises(ValueError, match="prefix"):
        inline_svg(SVG.format(""), "1 a")
