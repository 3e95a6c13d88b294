"""The MusicXML 4.0 schema, compiled without a network: what it finds wrong with a text.

The schema comes with the ``musicxml`` package. The two small schemas it imports, the attributes ``xml:*`` and
``xlink:*``, are written out here as far as MusicXML refers to them.
"""

from __future__ import annotations

from collections import Counter
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

_XML_ATTRIBUTES = b"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
 targetNamespace="http://www.w3.org/XML/1998/namespace">
 <xs:attribute name="lang" type="xs:language"/>
 <xs:attribute name="space" type="xs:NCName"/>
</xs:schema>"""
_XLINK_ATTRIBUTES = b"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
 targetNamespace="http://www.w3.org/1999/xlink">
 <xs:attribute name="href" type="xs:anyURI"/>
 <xs:attribute name="type" type="xs:string"/>
 <xs:attribute name="role" type="xs:token"/>
 <xs:attribute name="title" type="xs:token"/>
 <xs:attribute name="show" type="xs:token"/>
 <xs:attribute name="actuate" type="xs:token"/>
</xs:schema>"""


class _Imports(etree.Resolver):
    """Answers the schema's two imports from the texts above and refuses everything else."""

    def resolve(self, system_url: str, public_id: str, context: object) -> object:
        for name, text in (("xml.xsd", _XML_ATTRIBUTES), ("xlink.xsd", _XLINK_ATTRIBUTES)):
            if system_url.endswith(name):
                return self.resolve_string(text, context)
        raise LookupError(f"the schema asks for {system_url}")


def schema_text() -> bytes:
    """The MusicXML 4.0 schema as it is published."""
    spec = find_spec("musicxml")  # found without being imported, which would read all of it
    if spec is None or not spec.submodule_search_locations:
        raise LookupError("musicxml is not installed")
    return (Path(spec.submodule_search_locations[0]) / "generate_classes" / "musicxml_4_0.xsd").read_bytes()


def musicxml_schema() -> etree.XMLSchema:
    """The compiled schema; compiling takes about a second, so a test session does it once."""
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Imports())
    return etree.XMLSchema(etree.fromstring(schema_text(), parser))


def schema_errors(schema: etree.XMLSchema, xml: bytes) -> Counter[tuple[str, str]]:
    """What the schema finds wrong, as (kind, message) with how often; neither names a place in the text."""
    schema.validate(etree.fromstring(xml))
    return Counter((entry.type_name, entry.message) for entry in schema.error_log)
