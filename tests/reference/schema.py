"""The published MusicXML 4.0 schema, for checking what `recte export` writes.

musicxml.xsd (W3C Music Notation Community Group) comes as data with the PyPI package musicxml, the two
schemas it imports, for xml: and xlink:, with the PyPI package xmlschema. setup lays the three out under
target/musicxml, where they name each other; nothing is fetched.
"""

import importlib.util
from pathlib import Path

from lxml import etree

TARGET = Path(__file__).resolve().parents[2] / "target" / "musicxml"
ADDRESS = "http://www.musicxml.org/xsd/"
XML_ADDRESS = "http://www.w3.org/2001/xml.xsd"


def _package(name: str) -> Path:
    spec = importlib.util.find_spec(name)
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit(f"{name} is not installed here: run tests/reference/setup first")
    return Path(spec.submodule_search_locations[0])


def lay_out() -> Path:
    """Writes the three schemas beside each other; returns the main one."""
    schemas = _package("xmlschema") / "schemas"
    sources = {
        "musicxml.xsd": _package("musicxml") / "generate_classes" / "musicxml_4_0.xsd",
        "xml.xsd": schemas / "XML" / "xml.xsd",
        "xlink.xsd": schemas / "XLINK" / "xlink.xsd",
    }
    TARGET.mkdir(parents=True, exist_ok=True)
    for name, source in sources.items():
        text = source.read_text(encoding="utf-8")
        text = text.replace(ADDRESS, "").replace(XML_ADDRESS, "xml.xsd")
        (TARGET / name).write_text(text, encoding="utf-8")
    return TARGET / "musicxml.xsd"


def schema() -> etree.XMLSchema:
    """The schema, read from the files laid out."""
    main = TARGET / "musicxml.xsd"
    return etree.XMLSchema(etree.parse(str(main), etree.XMLParser(no_network=True)))


def faults(checker: etree.XMLSchema, document: bytes) -> list[str]:
    """What the schema says against a document; empty when it passes."""
    parser = etree.XMLParser(no_network=True, load_dtd=False, resolve_entities=False)
    try:
        tree = etree.fromstring(document, parser)
    except etree.XMLSyntaxError as problem:
        return [str(problem)]
    checker.validate(tree)
    return [f"line {entry.line}: {entry.message}" for entry in checker.error_log]
