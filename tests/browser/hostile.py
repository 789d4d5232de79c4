# SPDX-License-Identifier: AGPL-3.0-or-later
"""A book that tries, in every text that a PDF, a job or a file system holds, to run in whatever shows that text.

Each text begins with a word of its own (its tag), so that a test can tell where it came out.  Whoever runs it calls
``window.ran`` with the tag.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from tests.build import Fill, font, page, save

#: how text gets out of where it stands, and what it then would run
WAYS = {
    "element": "<script>ran('{tag}')</script>",
    "attribute": "\"><img src=x onerror=ran('{tag}')>",
    "other-attribute": "'><img src=x onerror=ran(`{tag}`)>",
    "style": "</style><script>ran('{tag}')</script>",
    "title": "</title></bdi></textarea><script>ran('{tag}')</script>",
    "drawing": "</text><svg onload=ran('{tag}')><use href=x></svg>",
    "frame": "<iframe srcdoc='<script>parent.ran(`{tag}`)</script>'></iframe>",
    "address": "javascript:ran('{tag}')",
    "section": "]]><script>ran('{tag}')</script><![CDATA[",
    "remark": "--><script>ran('{tag}')</script><!--",
    "template": "{{{{31337*2}}}}{{% raw %}}${{31337*2}}#{{31337*2}}",
    "page": "<base href=//x.invalid/><meta http-equiv=refresh content=0;url=//x.invalid/><link rel=stylesheet href=x>",
    "signs": "a\u202eb\u2066c\u2028d\u2029e\x00f\x1b[31mg\x7fh\ufeffi\r\nj",
}


def hostile(tag: str, *ways: str) -> str:
    """Text that breaks out in the ways named; in all that hold on one line when none is."""
    return tag + " " + " ".join(WAYS[way].format(tag=tag) for way in ways or tuple(w for w in WAYS if w != "signs"))


#: names of files hold no stroke, so no element ends; this needs none to
NAME = "\"><img src=x onerror=ran(`name`)><svg onload=ran('name')>{{31337*2}}\u202e&#60;b&#62;\u2028\n.pdf"
#: files that are no PDF: each has a line in the index all the same
BROKEN = (
    "javascript:ran('link').pdf",
    "#no?way=%2e%2e%00&amp;.pdf",
    "' onmouseover=ran('quote') x='.pdf",
    os.fsdecode(b"no-utf-8 \xff\xfe<svg onload=ran('bytes')>.pdf"),
    "🏮 <b onclick=ran`lamp`>.pdf",
    "-rf.pdf",
)

#: what stands in the job, and waives what the book is found to be
JOB = f"""
[book]
title = {json.dumps(hostile("jobtitle"))}
author = {json.dumps(hostile("jobauthor"))}

[[check.waived]]
check = "layers"
page = 1
reason = {json.dumps(hostile("waived"))}
by = {json.dumps(hostile("waiver"))}
"""


def hostile_book(target: Path, pages: int = 8) -> Path:
    """The book: its title, XMP, layers, fonts, inks, labels, outline, annotations, attachments and actions."""
    pdf = pikepdf.new()
    ways = [way for way in WAYS if way != "signs"]
    layers = [
        pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(hostile(f"layer{n}", way))))
        for n, way in enumerate([*ways, "signs"])
    ]
    faces = {}
    for n, way in enumerate(ways):
        face = font(pdf, embedded=False)
        face.BaseFont = _name(hostile(f"font{n}", way))
        faces[f"/F{n + 2}"] = face
    inks = {}
    for n, way in enumerate([*ways, "signs"]):
        tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 1, 0.5, 0], N=1)
        inks[f"/C{n}"] = Array([Name.Separation, _name(hostile(f"ink{n}", way)), Name.DeviceCMYK, tint])
    for index in range(pages):
        content, resources, annotations = "", {}, []
        if index < 2:
            content = "".join(f"/OC /L{n} BDC 0 0 0 1 k 40 {40 + n} 5 .5 re f EMC\n" for n in range(len(layers)))
            content += "".join(f"BT {key} 9 Tf 80 {60 + 11 * n} Td (Lantern) Tj ET\n" for n, key in enumerate(faces))
            resources = {"Properties": Dictionary({f"/L{n}": layer for n, layer in enumerate(layers)})}
            resources["Font"] = Dictionary(faces)
        if index == 3:
            content = "".join(f"{key} cs 1 scn 200 {60 + 8 * n} 30 6 re f\n" for n, key in enumerate(inks))
            resources = {"ColorSpace": Dictionary(inks)}
        if index == 4:
            for n, way in enumerate(ways):
                annotations.append(_annotation(pdf, f"remark{n}", way, 60 + 30 * n))
        page(
            pdf, f"Page {index + 1}", folio=str(index + 1), content=content, resources=resources,
            annotations=annotations, fills=(Fill((0, 100, 20, 110)),) if index == 5 else (),
        )  # fmt: skip
    root = pdf.Root
    root.OCProperties = Dictionary(
        OCGs=Array(layers), D=Dictionary(Name=String(hostile("configuration")), OFF=Array(layers[1:]), ON=layers[:1])
    )
    labels = Array(
        [0, Dictionary(P=String(hostile("label", "element"))), 2, Dictionary(P=String(hostile("sign", "signs")))]
    )
    root.PageLabels = Dictionary(Nums=labels)
    root.OpenAction = Dictionary(S=Name.JavaScript, JS=String(hostile("action")))
    intent = Dictionary(Type=Name.OutputIntent, S=Name.GTS_PDFX)
    for key in ("OutputConditionIdentifier", "OutputCondition", "RegistryName", "Info"):
        intent[f"/{key}"] = String(hostile(key.lower()))
    root.OutputIntents = Array([pdf.make_indirect(intent)])
    attached = pikepdf.AttachedFileSpec(pdf, b"x", filename=hostile("attached"), description=hostile("described"))
    pdf.attachments[hostile("attachedkey")] = attached
    with pdf.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem(hostile("outline"), 0))
    for key in ("Title", "Author", "Subject", "Keywords", "Creator", "Producer", "GTS_PDFXVersion", "Trapped"):
        pdf.docinfo[f"/{key}"] = String(hostile(key.lower()) + WAYS["signs"])
    with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
        xmp["dc:title"] = hostile("xmptitle")
        xmp["dc:creator"] = [hostile("xmpcreator")]
        xmp["pdfx:GTS_PDFXVersion"] = hostile("xmpversion")
        xmp["xmp:CreatorTool"] = hostile("xmptool")
    return save(pdf, target)


def _annotation(pdf: pikepdf.Pdf, tag: str, way: str, x: float) -> pikepdf.Object:
    text = String(hostile(tag, way))
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Annot, Subtype=_name(hostile(tag, way)), Rect=[x, 100, x + 20, 120], F=4, Contents=text, T=text,
            NM=text, A=Dictionary(S=Name.URI, URI=String("javascript:ran('uri')")),
            AP=Dictionary(N=pdf.make_stream(b"0 0 1 rg 0 0 20 20 re f", BBox=[0, 0, 20, 20], Subtype=Name.Form)),
        )
    )  # fmt: skip


def _name(text: str) -> pikepdf.Object:
    """A name object that holds this text; a name cannot hold a NUL (ISO 32000-1, 7.3.5)."""
    return Name("/" + text.replace("\x00", ""))
