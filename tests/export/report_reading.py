"""Reports read back by others' readers: html5lib (the HTML standard's parser, strict), pypdf, the csv module."""

import io
import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import html5lib
from pypdf import PdfReader

_SVG = "{http://www.w3.org/2000/svg}"
_CODE = re.compile(r"[\u200b\xad]")


def parsed(page: str) -> Element:
    """The page as a tree; raises on anything the HTML standard calls a parse error."""
    tree: Element = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)
    return tree


def words(element: Element) -> str:
    """All text of an element, spaces collapsed, without the style sheet."""
    return " ".join(" ".join(_texts(element)).split())


def _texts(element: Element) -> Iterator[str]:
    if element.tag != "style":
        yield element.text or ""
        for child in element:
            yield from _texts(child)
            yield child.tail or ""


def tags(element: Element) -> list[str]:
    """Every element's name, those of pictures without their namespace."""
    return [str(each.tag).removeprefix(_SVG) for each in element.iter() if isinstance(each.tag, str)]


def pdf_pages(data: bytes) -> list[str]:
    """Text of each page, spaces collapsed, places where a long word may break taken out."""
    reader = PdfReader(io.BytesIO(data), strict=True)
    return [" ".join(_CODE.sub("", page.extract_text()).split()) for page in reader.pages]


def squeezed(text: str) -> str:
    """Without any space: lines break where they will."""
    return "".join(_CODE.sub("", text).split())
