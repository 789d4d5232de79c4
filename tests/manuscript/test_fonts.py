# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which fonts a page needs, wherever they hide, and how each is built and embedded."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

import foldproof.pdf.structure_resources as structure_resources
from foldproof.manuscript.fonts import fact_of
from foldproof.manuscript.model import FontKind, Manuscript
from foldproof.manuscript.read import read
from foldproof.pdf.structure_model import WrittenFont
from tests.build import book, font, page, save


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "book.pdf"


def names(made: Manuscript, index: int = 0) -> set[str]:
    return {made.fonts[key].name for key in made.pages[index].fonts}


def form(pdf: Pdf, **entries: Any) -> pikepdf.Object:
    made = pdf.make_indirect(Stream(pdf, b"q Q"))
    made.Type, made.Subtype, made.BBox = Name.XObject, Name.Form, Array([0, 0, 9, 9])
    for key, value in entries.items():
        made["/" + key] = value
    return made


def courier(pdf: Pdf) -> Dictionary:
    return Dictionary(Font=Dictionary(C=font(pdf, "cour", embedded=False)))


def stamp(pdf: Pdf, flags: int, **more: Any) -> Dictionary:
    return Dictionary(
        Type=Name.Annot, Subtype=Name.Stamp, F=flags, Rect=Array([9, 9, 99, 99]),
        AP=Dictionary(N=form(pdf, Resources=courier(pdf))), **more,
    )  # fmt: skip


def type3(pdf: Pdf) -> pikepdf.Object:
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 1, 1]), FontMatrix=Array([1, 0, 0, 1, 0, 0]),
            CharProcs=Dictionary(), Encoding=Dictionary(Differences=Array([])), FirstChar=0, LastChar=0,
            Widths=Array([1]), Resources=courier(pdf),
        )
    )  # fmt: skip


# each is a way to a font that ISO 32000-1 allows; Courier hides at its end
WAYS = {
    "a form (8.10)": lambda pdf: {"XObject": Dictionary(X=form(pdf, Resources=courier(pdf)))},
    "a form in a form": lambda pdf: {
        "XObject": Dictionary(
            X=form(pdf, Resources=Dictionary(XObject=Dictionary(Y=form(pdf, Resources=courier(pdf)))))
        )
    },
    "a tiling pattern (8.7.3)": lambda pdf: {
        "Pattern": Dictionary(P=pdf.make_indirect(Stream(pdf, b"q Q", PatternType=1, Resources=courier(pdf))))
    },
    "the resources of a Type 3 font (9.6.5)": lambda pdf: {"Font": Dictionary(T=type3(pdf))},
    "a graphics state (8.4.5)": lambda pdf: {
        "ExtGState": Dictionary(G=Dictionary(Font=Array([font(pdf, "cour", embedded=False), 9])))
    },
    "the group of a soft mask (11.6.5.2)": lambda pdf: {
        "ExtGState": Dictionary(G=Dictionary(SMask=Dictionary(S=Name.Alpha, G=form(pdf, Resources=courier(pdf)))))
    },
    "the state of a shading pattern (8.7.4)": lambda pdf: {
        "Pattern": Dictionary(
            P=Dictionary(PatternType=2, ExtGState=Dictionary(Font=Array([font(pdf, "cour", embedded=False), 9])))
        )
    },
}


@pytest.mark.parametrize("way", WAYS)
def test_fonts_are_found_behind(way: str, target: Path) -> None:
    pdf = pikepdf.new()
    page(pdf, "Page 1", resources=WAYS[way](pdf))
    page(pdf, "Page 2")
    made = read(save(pdf, target))
    assert {"Courier", "ABCDEF+Helvetica"} <= names(made)
    assert names(made, 1) == {"ABCDEF+Helvetica"}


# flags of table 165: Invisible 1, Hidden 2, Print 4, NoView 32
@pytest.mark.parametrize(("flags", "prints"), [(4, True), (36, True), (0, False), (6, False), (32, False), (5, True)])
def test_fonts_of_an_appearance_count_when_it_prints(flags: int, prints: bool, target: Path) -> None:
    pdf = pikepdf.new()
    page(pdf, "Page 1", annotations=[stamp(pdf, flags)])
    made = read(save(pdf, target))
    assert made.pages[0].annotations[0].prints is prints
    assert ("Courier" in names(made)) is prints


def test_fonts_of_the_present_state_alone_count(target: Path) -> None:
    # 12.5.5: /AS picks one of the streams of /N
    pdf = pikepdf.new()
    states = Dictionary(
        Off=form(pdf, Resources=Dictionary(Font=Dictionary(T=font(pdf, "tiro", embedded=False)))),
        Yes=form(pdf, Resources=courier(pdf)),
    )
    box = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, F=4, Rect=Array([9, 9, 99, 99]), AP=Dictionary(N=states))
    for state in ("Yes", "Off", "Else"):
        one = Dictionary(box)
        one.AS = Name("/" + state)
        page(pdf, "Page", annotations=[one])
    page(pdf, "Page", annotations=[box])  # no /AS: nothing to draw
    made = read(save(pdf, target))
    assert [names(made, i) - {"ABCDEF+Helvetica"} for i in range(4)] == [{"Courier"}, {"Times-Roman"}, set(), set()]
    assert [made.pages[i].annotations[0].prints for i in range(4)] == [True, True, False, False]


def test_shared_things_are_opened_once_for_the_file(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pages, forms = 300, 40

    def share(pdf: Pdf) -> None:
        kept = pdf.make_indirect(Dictionary({f"/X{n}": form(pdf, Resources=courier(pdf)) for n in range(forms)}))
        whole = pdf.make_indirect(Dictionary(XObject=kept, Font=pdf.pages[0].Resources.Font))
        for index, leaf in enumerate(pdf.pages):  # half of the pages share all, the other half one category
            if index % 2:
                leaf.obj.Resources = whole
            else:
                leaf.Resources.XObject = kept

    path = book(pages, target, after=share)
    opened: list[str] = []
    real = structure_resources.font_of
    monkeypatch.setattr(structure_resources, "font_of", lambda key, font: opened.append(key) or real(key, font))
    made = read(path)
    assert len(opened) == len(set(opened)) == len(made.fonts) == forms + 1
    assert {len(one.fonts) for one in made.pages} == {forms + 1}


def test_one_direct_dictionary_above_many_pages_is_opened_once(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def lift(pdf: Pdf) -> None:
        pdf.Root.Pages.Resources = Dictionary(Font=Dictionary(F1=pdf.pages[0].Resources.Font.F1))
        for leaf in pdf.pages:
            del leaf.obj["/Resources"]

    pdf_path = book(50, target, after=lift)
    opened: list[Any] = []
    real = structure_resources._items
    monkeypatch.setattr(structure_resources, "_items", lambda thing: opened.append(1) or real(thing))
    made = read(pdf_path)
    assert all(names(made, index) == {"ABCDEF+Helvetica"} for index in range(50))
    assert len(opened) == 2  # the dictionary and its fonts


def test_resources_that_run_in_circles_or_deep_do_no_harm(target: Path) -> None:
    pdf = pikepdf.new()
    ring = [form(pdf, Resources=Dictionary()) for _ in range(3)]
    for n, one in enumerate(ring):
        one.Resources.XObject = Dictionary(Next=ring[(n + 1) % 3], Me=one)
    ring[1].Resources.Font = courier(pdf).Font
    deep = form(pdf, Resources=courier(pdf))
    for _ in range(3000):  # three times Python's limit of recursion
        deep = form(pdf, Resources=Dictionary(XObject=Dictionary(X=deep)))
    page(pdf, "Page 1", resources={"XObject": Dictionary(R=ring[0])})
    page(pdf, "Page 2", resources={"XObject": Dictionary(R=ring[2])})
    page(pdf, "Page 3", resources={"XObject": Dictionary(D=deep)})
    made = read(save(pdf, target))
    for index in range(3):
        assert "Courier" in names(made, index)


def test_every_member_of_a_circle_reaches_what_hangs_on_it(target: Path) -> None:
    # two circles that share a form, entered at each place: a page's fonts do not hang on which page was read first
    pdf = pikepdf.new()
    ring = [form(pdf, Resources=Dictionary(Font=Dictionary())) for _ in range(6)]
    for here, there in [(0, 1), (1, 2), (2, 0), (2, 3), (3, 4), (4, 3), (4, 5)]:
        held = ring[here].Resources
        if "/XObject" not in held:
            held.XObject = Dictionary()
        held.XObject[f"/X{there}"] = ring[there]
    for n, one in enumerate(ring):
        one.Resources.Font[f"/F{n}"] = pdf.make_indirect(
            Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name(f"/N{n}"))
        )
    for one in [*reversed(ring), *ring]:
        page(pdf, resources={"XObject": Dictionary(X=one)})
    made = read(save(pdf, target))
    # by hand: 0, 1, 2 reach everything; 3 and 4 each other and 5; 5 itself
    reach = [{*"012345"}, {*"012345"}, {*"012345"}, {*"345"}, {*"345"}, {*"5"}]
    for index, start in enumerate([5, 4, 3, 2, 1, 0, 0, 1, 2, 3, 4, 5]):
        assert {name[1:] for name in names(made, index) if name[0] == "N"} == reach[start]


def test_fonts_without_a_number_get_a_stable_one(target: Path) -> None:
    pdf = pikepdf.new()
    for n in range(3):
        page(
            pdf,
            resources={
                "Font": Dictionary(D=Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name(f"/Direct{n % 2}")))
            },
        )
    made = read(save(pdf, target))
    direct = {key: fact.name for key, fact in made.fonts.items() if key.startswith("direct")}
    assert direct == {"direct 1": "Direct0", "direct 2": "Direct1"}
    assert "direct 1" in made.pages[2].fonts and "direct 2" not in made.pages[2].fonts


@pytest.mark.parametrize(
    "resources",
    ["/Font 5", "/Font << /F 7 /G null /H [1 2] >>", "/XObject << /X 3 0 R >> /Pattern [1]", "/ColorSpace << /C [] >>",
     "/ExtGState << /G << /Font 3 /SMask /None >> >>", "/Font << /F << /Subtype /Type0 /DescendantFonts 9 >> >>",
     "/Font << /F << /Subtype /Type0 /DescendantFonts [3 0 R] >> >>", "/Shading << /S 1 >> /Font 77 0 R"],
)  # fmt: skip
def test_wrong_types_in_resources_do_no_harm(resources: str, target: Path) -> None:
    from tests.build import raw_tree

    assert read(raw_tree(target, "/MediaBox [0 0 300 400]", f"/Resources << {resources} >>")).pages


# --- kinds -----------------------------------------------------------------------------------------------------------

# ISO 32000-1, 9.6.2 to 9.7.4, and table 126 ("Embedded font organization for various font types")
KINDS = [
    ("Type1", "", "FontFile", FontKind.TYPE1, True),
    ("Type1", "", None, FontKind.TYPE1, False),
    ("Type1", "", "Type1C", FontKind.TYPE1_CFF, True),
    ("Type1", "", "OpenType", FontKind.TYPE1_CFF, True),
    ("MMType1", "", "FontFile", FontKind.MULTIPLE_MASTER, True),
    ("MMType1", "", "Type1C", FontKind.MULTIPLE_MASTER, True),
    ("TrueType", "", "FontFile2", FontKind.TRUETYPE, True),
    ("TrueType", "", None, FontKind.TRUETYPE, False),
    ("TrueType", "", "OpenType", FontKind.TRUETYPE_CFF, True),
    ("Type0", "CIDFontType0", "CIDFontType0C", FontKind.CID_CFF, True),
    ("Type0", "CIDFontType0", "OpenType", FontKind.CID_CFF, True),
    ("Type0", "CIDFontType0", None, FontKind.CID_CFF, False),
    ("Type0", "CIDFontType2", "FontFile2", FontKind.CID_TRUETYPE, True),
    ("Type0", "CIDFontType2", "OpenType", FontKind.CID_TRUETYPE, True),
    ("Type0", "CIDFontType2", None, FontKind.CID_TRUETYPE, False),
    ("Type3", "", None, FontKind.TYPE3, True),
    ("Type0", "", None, FontKind.UNKNOWN, False),
    ("", "", None, FontKind.UNKNOWN, False),
]


@pytest.mark.parametrize(("subtype", "descendant", "program", "kind", "embedded"), KINDS)
def test_kind_and_embedding(subtype: str, descendant: str, program: str | None, kind: FontKind, embedded: bool) -> None:
    fact = fact_of(WrittenFont("9 0", subtype, "Plain", descendant, program))
    assert (fact.kind, fact.embedded, fact.subset) == (kind, embedded, False)


# 9.6.4: a tag of exactly six upper-case letters and a plus sign
@pytest.mark.parametrize(
    ("name", "subset"),
    [("ABCDEF+Plain", True), ("ABCDE+Plain", False), ("abcdef+Plain", False), ("ABCDEFG+Plain", False), ("", False)],
)
def test_subset_prefix(name: str, subset: bool) -> None:
    assert fact_of(WrittenFont("9 0", "Type1", name, "", "FontFile")).subset is subset


def test_a_font_as_the_file_has_it(target: Path) -> None:
    made = read(book(1, target))
    (fact,) = made.fonts.values()
    assert (fact.name, fact.kind, fact.embedded, fact.subset) == (
        "ABCDEF+Helvetica", FontKind.TYPE1_CFF, True, True,
    )  # fmt: skip
    made = read(book(1, target, embedded=False))
    (fact,) = made.fonts.values()
    assert (fact.name, fact.kind, fact.embedded, fact.subset) == ("Helvetica", FontKind.TYPE1, False, False)


def test_a_descriptor_without_a_stream_embeds_nothing(target: Path) -> None:
    pdf = pikepdf.new()
    lame = Dictionary(
        Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Lame, FontDescriptor=Dictionary(FontFile=Dictionary())
    )
    page(pdf, resources={"Font": Dictionary(L=pdf.make_indirect(lame))})
    made = read(save(pdf, target))
    assert [f.embedded for f in made.fonts.values() if f.name == "Lame"] == [False]


def test_a_name_that_is_not_utf8_is_kept_apart(target: Path) -> None:
    # 7.3.5: a name is a sequence of bytes; Japanese fonts of old carry Shift JIS ones
    from tests.build import raw_tree

    fonts = "/A#82 << /Type /Font /Subtype /TrueType /BaseFont /#82l#82r >> /B << /Subtype /Type1 /BaseFont /#82m >>"
    made = read(raw_tree(target, "/MediaBox [0 0 9 9]", f"/Resources << /Font << {fonts} >> >>"))
    found = {fact.name for fact in made.fonts.values()}
    assert found == {"\x82l\x82r", "\x82m"}
    assert all(name.encode("utf-8") for name in found)
