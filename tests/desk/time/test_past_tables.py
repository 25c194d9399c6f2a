"""Spreadsheets as people keep them, all invented, each with how it is to be read."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import past, past_import
from burnplan.ledger.models import PastJob
from burnplan.units import UnitSystem

US = Settings(units=UnitSystem.IMPERIAL, currency="USD", locale="en_US")
UK = Settings(units=UnitSystem.METRIC, currency="GBP", locale="en_GB")
DE = Settings(units=UnitSystem.METRIC, currency="EUR", locale="de_DE")
CH = Settings(units=UnitSystem.METRIC, currency="CHF", locale="de_CH")
FR = Settings(units=UnitSystem.METRIC, currency="EUR", locale="fr_FR")
ES = Settings(units=UnitSystem.METRIC, currency="EUR", locale="es_ES")
IT = Settings(units=UnitSystem.METRIC, currency="EUR", locale="it_IT")
NL = Settings(units=UnitSystem.METRIC, currency="EUR", locale="nl_NL")
SE = Settings(units=UnitSystem.METRIC, currency="SEK", locale="sv_SE")
CA = Settings(units=UnitSystem.IMPERIAL, currency="CAD", locale="en_CA")

IN = 25.4
FIELDS = ("title", "finished_on", "width_mm", "height_mm")


def job(title: str, day: str, width: float, height: float, **other: Any) -> dict[str, Any]:
    """Return what is wanted of a row; what is not named is not looked at, but unknown hours are."""
    on = date.fromisoformat(day) if day else None
    return {"title": title, "finished_on": on, "width_mm": width, "height_mm": height, **other}


@dataclass(frozen=True)
class Sheet:
    """A made-up table, the studio it is of, and what is wanted of it."""

    name: str
    studio: Settings
    text: str
    wanted: list[dict[str, Any]]
    letters: str = "utf-8"
    told: tuple[str, ...] = ()
    left: dict[int, str] = field(default_factory=dict)


SHEETS = [
    Sheet(
        "months with a comma, sides with their own unit, thickness beside them",
        US,
        "Name,Finished,Size,Hours\n"
        'Elk,"May, 2025",8in x 10in x 1in,9\n'
        'Owl,"March, 2024","11""x14""x3/4""",7\n'
        'Fox,"Friday, March 14, 2025",11 in. W x 14 in. H,8\n'
        "Hare,spring 2024,8x10,5\n",
        [
            job("Elk", "2025-05-31", 8 * IN, 10 * IN, total_h=9),
            job("Owl", "2024-03-31", 11 * IN, 14 * IN, total_h=7),
            job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=8),
        ],
        left={5: "'spring 2024' is not a day"},
    ),
    Sheet(
        "American, with signs and inches",
        US,
        "Piece,Finished,Size,Wood,Hours total,Price,Client\n"
        'Red fox,3/14/2025,11x14 in,Basswood,12.5,"$1,350.00",Ann\n'
        "Barn owl,11/2/2025,8x10 in,cherry,7,$350.00,Bo\n",
        [
            job(
                "Red fox",
                "2025-03-14",
                11 * IN,
                14 * IN,
                species="basswood",
                total_h=12.5,
                price="1350",
            ),
            job(
                "Barn owl", "2025-11-02", 8 * IN, 10 * IN, species="cherry", total_h=7, price="350"
            ),
        ],
    ),
    Sheet(
        "bare inches, day and month by the locale",
        US,
        "Name,Date,Dimensions,Hrs\nElk,3/4/2025,12 x 16,9.25\n",
        [job("Elk", "2025-03-04", 12 * IN, 16 * IN, total_h=9.25)],
    ),
    Sheet(
        "the same day in Britain, bare centimetres",
        UK,
        "Name,Date,Dimensions,Hrs,Charged\nElk,3/4/2025,30 x 40,9.25,£240\n",
        [job("Elk", "2025-04-03", 300, 400, total_h=9.25, price="240")],
    ),
    Sheet(
        "months alone, marks for inches, clock hours",
        US,
        'Project,Month,Size,Time\nWolf,May 2025,"11"" x 14""",10:30\n'
        'Bear,Jun 2025,"8"" round",4:15\n',
        [
            job("Wolf", "2025-05-31", 11 * IN, 14 * IN, total_h=10.5),
            job("Bear", "2025-06-30", 8 * IN, 8 * IN, outline="round", total_h=4.25),
        ],
    ),
    Sheet(
        "German, semicolons and decimal commas",
        DE,
        "Titel;Fertig am;Breite (cm);Höhe (cm);Holz;Stunden;Preis\n"
        "Fuchs;12.03.2025;30,5;40;Linde;12,5;1.350,00 €\n"
        "Eule;1.4.25;20;20;Birke;6,25;240,00 €\n",
        [
            job("Fuchs", "2025-03-12", 305, 400, species="linde", total_h=12.5, price="1350"),
            job("Eule", "2025-04-01", 200, 200, species="birke", total_h=6.25, price="240"),
        ],
    ),
    Sheet(
        "German, older letters, months in words, hours with letters",
        DE,
        "Stück;Datum;Größe;Arbeitszeit;Betrag (€)\n"
        "Käuzchen;14. März 2025;30 x 40 cm;12 Std.;350,-\n"
        "Jäger;2. Mai 2025;rund 25 cm;90 Min;1.200\n",
        [
            job("Käuzchen", "2025-03-14", 300, 400, total_h=12, price="350"),
            job("Jäger", "2025-05-02", 250, 250, outline="round", total_h=1.5, price="1200"),
        ],
        letters="cp1252",
    ),
    Sheet(
        "Swiss, apostrophes between thousands",
        CH,
        "Werk;Datum;Format;Stunden;Preis\nGämse;24.12.2024;40x60;31,5;CHF 1'250.–\n",
        [job("Gämse", "2024-12-24", 400, 600, total_h=31.5, price="1250")],
    ),
    Sheet(
        "French, spaces between thousands, hours as 12h30",
        FR,
        "Titre;Terminé le;Dimensions;Bois;Heures;Prix\n"
        "Renard;14/03/2025;30 x 40 cm;tilleul;12h30;1 350,00 €\n"
        "Chouette;3 mai 2025;Ø 25 cm;bouleau;6h;240 €\n",
        [
            job("Renard", "2025-03-14", 300, 400, species="tilleul", total_h=12.5, price="1350"),
            job("Chouette", "2025-05-03", 250, 250, outline="round", total_h=6, price="240"),
        ],
    ),
    Sheet(
        "Spanish, tabs, months in words",
        ES,
        "Obra\tFecha\tMedidas\tMadera\tHoras\tPrecio\n"
        "Lobo\t14 de marzo de 2025\t30x40 cm\tnogal\t12,5\t350,50 €\n",
        [job("Lobo", "2025-03-14", 300, 400, species="nogal", total_h=12.5, price="350.50")],
    ),
    Sheet(
        "Italian, millimetres told by their number",
        IT,
        "Opera;Data;Larghezza;Altezza;Ore;Prezzo\nVolpe;14/03/2025;300;400;12;350\n",
        [job("Volpe", "2025-03-14", 300, 400, total_h=12, price="350")],
    ),
    Sheet(
        "Dutch, quoted cells throughout",
        NL,
        '"Naam";"Klaar";"Maat";"Houtsoort";"Uren";"Prijs"\n'
        '"Vos; oud";"14-03-2025";"30x40cm";"esdoorn";"12,5";"€ 350,00"\n',
        [job("Vos; oud", "2025-03-14", 300, 400, species="esdoorn", total_h=12.5, price="350")],
    ),
    Sheet(
        "Swedish crowns, dates from largest to smallest",
        SE,
        "Title;Date;Size;Hours;Price\nÄlg;2025-03-14;30x40;12,5;3 500 kr\n",
        [job("Älg", "2025-03-14", 300, 400, total_h=12.5, price="3500")],
    ),
    Sheet(
        "Canadian dollars",
        CA,
        "Item,Completed,Size (in),Hours,Total\nLoon,2025-03-14,11x14,12,$350.00\n",
        [job("Loon", "2025-03-14", 11 * IN, 14 * IN, total_h=12, price="350")],
    ),
    Sheet(
        "a mark of UTF-8, a title above, blank lines, a sum below",
        US,
        "My burnings 2025,,,,\n,,,,\nTitle,Date,Size,Hours,Price\n"
        "Fox,3/14/2025,11x14,12,$350\n,,,,\nTotal,3/20/2025,8x10,6,$200\nTotal,,,18,$550\n",
        [
            job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12, price="350"),
            job("Total", "2025-03-20", 8 * IN, 10 * IN, total_h=6, price="200"),
        ],
        letters="utf-8-sig",
        left={7: "a sum"},
    ),
    Sheet(
        "sixteen-bit letters and tabs, as a spreadsheet's text export has them",
        DE,
        "Titel\tDatum\tGröße\tStunden\nFuchs\t14.03.2025\t30x40\t12,5\n",
        [job("Fuchs", "2025-03-14", 300, 400, total_h=12.5)],
        letters="utf-16",
    ),
    Sheet(
        "a first line that names the separator",
        DE,
        "sep=;\r\nTitel;Datum;Größe;Stunden\r\nFuchs;14.03.2025;30x40;12,5\r\n",
        [job("Fuchs", "2025-03-14", 300, 400, total_h=12.5)],
    ),
    Sheet(
        "line breaks inside cells and headings",
        US,
        'Title,"Date\nfinished",Size,"Hours\ntotal",Notes\n'
        '"Fox,\nold",3/14/2025,11x14,12,"oil, then\nwax"\nOwl,3/20/2025,8x10,bad,\n',
        [job("Fox, old", "2025-03-14", 11 * IN, 14 * IN, total_h=12)],
        left={3: "'bad' is no hours"},
    ),
    Sheet(
        "hours by stage",
        US,
        "Title,Finished,Size,Sanding (h),Tracing hrs,Burning hours,Finishing\n"
        "Fox,3/14/2025,11x14,1,1.5,8.25,0.75\n",
        [
            job(
                "Fox",
                "2025-03-14",
                11 * IN,
                14 * IN,
                prepare_h=1,
                transfer_h=1.5,
                burn_h=8.25,
                finish_h=0.75,
                total_h=None,
            )
        ],
    ),
    Sheet(
        "minutes",
        UK,
        "Title,Date,Size,Minutes\nFox,14/03/2025,30x40,750\n",
        [job("Fox", "2025-03-14", 300, 400, total_h=12.5)],
    ),
    Sheet(
        "no headings at all",
        US,
        "Red fox,3/14/2025,11x14 in,basswood,$350.00\nOwl,3/20/2025,8x10 in,cherry,$200.00\n",
        [
            job("Red fox", "2025-03-14", 11 * IN, 14 * IN, species="basswood", price="350"),
            job("Owl", "2025-03-20", 8 * IN, 10 * IN, species="cherry", price="200"),
        ],
    ),
    Sheet(
        "no headings, and the hours told by letter",
        US,
        "Red fox,3/14/2025,11x14 in,12\nOwl,3/20/2025,8x10 in,6\n",
        [
            job("Red fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12),
            job("Owl", "2025-03-20", 8 * IN, 10 * IN, total_h=6),
        ],
        told=("D=total_h",),
    ),
    Sheet(
        "headings of one's own, told",
        US,
        "Burnt what,Off the bench,How big,Toil,Got\nFox,3/14/2025,11x14,12,350\n",
        [job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12, price="350")],
        told=("Burnt what=title,Off the bench=finished_on", "Toil=total_h,Got=price"),
    ),
    Sheet(
        "days as a program counts them, and fractions",
        US,
        "Title,Date,Width,Height,Hours\nFox,45730,12 1/2,16,6 1/2\n",
        [job("Fox", "2025-03-14", 12.5 * IN, 16 * IN, total_h=6.5)],
    ),
    Sheet(
        "dates as a program shows them",
        US,
        "Title,Date,Size,Hours\nFox,14-Mar-25,11x14,12\nOwl,May-25,8x10,6\n"
        'Elk,"Friday, March 14, 2025",8x10,6\nHare,2025-03-14 00:00:00,8x10,5\n',
        [
            job("Fox", "2025-03-14", 11 * IN, 14 * IN),
            job("Owl", "2025-05-31", 8 * IN, 10 * IN),
            job("Elk", "2025-03-14", 8 * IN, 10 * IN),
            job("Hare", "2025-03-14", 8 * IN, 10 * IN),
        ],
    ),
    Sheet(
        "one day shows which comes first, against the locale",
        US,
        "Title,Date,Size,Hours\nFox,14/03/2025,11x14,12\nOwl,3/4/2025,8x10,6\n",
        [
            job("Fox", "2025-03-14", 11 * IN, 14 * IN),
            job("Owl", "2025-04-03", 8 * IN, 10 * IN),
        ],
    ),
    Sheet(
        "both orders in one column: what could be two days is left out",
        US,
        "Title,Date,Size\nFox,14/03/2025,11x14\nOwl,3/14/2025,8x10\nElk,3/4/2025,8x10\n",
        [
            job("Fox", "2025-03-14", 11 * IN, 14 * IN),
            job("Owl", "2025-03-14", 8 * IN, 10 * IN),
        ],
        left={4: "could be two dates"},
    ),
    Sheet(
        "other columns beside that look alike",
        US,
        "Title,Client name,Order date,Start date,Due date,Finished,Size,Hourly rate,Hours,"
        "Wood,Wood cost,Deposit paid,Price\n"
        "Fox,Ann,1/2/2025,1/5/2025,3/1/2025,3/14/2025,11x14,30,12,cherry,14.50,100,350\n",
        [job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12, species="cherry", price="350")],
    ),
    Sheet(
        "rows that cannot be read, each with why",
        US,
        "Title,Date,Size,Hours,Price\nFox,3/14/2025,11x14,12,$350\nOwl,soon,8x10,6,$200\n"
        ",3/20/2025,8x10,6,$200\nElk,3/20/2025,large,6,$200\nHare,3/20/2025,8x10,a day,$200\n"
        "Wren,3/20/2025,8x10,6,gift\nLynx,3/20/2025,,6,$90\nBoar,3/20/2025,8x10,6,€200\n"
        "Mole,3/20,8x10,6,\nPike,2/30/2025,8x10,6,\n"
        f"Newt,3/20/2025,8x10,6,${'9' * 40}\nToad,3/20/2025,8x10,{'9' * 40},\n",
        [job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12, price="350")],
        left={
            3: "'soon' is not a day",
            4: "it is empty",
            5: "'large' is not a size",
            6: "'a day' is no hours",
            7: "'gift' is not an amount",
            8: "it is empty",
            9: "is in €, not in USD",
            10: "not a day with its year",
            11: "not a date",
            12: "is too much",
            13: "is not from 0 to 5,000 h",
        },
    ),
    Sheet(
        "what is not known is left open",
        US,
        "Title,Date,Size,Wood,Hours,Price\nFox,?,11x14,n/a,-,\nOwl,,8x10,unknown,~6,\n",
        [
            job("Fox", "", 11 * IN, 14 * IN, species="", total_h=None, price=None),
            job("Owl", "", 8 * IN, 10 * IN, species="", total_h=6, price=None),
        ],
    ),
    Sheet(
        "shapes in a column of their own, and thickness after the size",
        UK,
        "Title,Date,Shape,Size,Hours\nFox,14/03/2025,rectangle,30 x 40 x 2 cm,12\n"
        "Owl,20/03/2025,round,25 cm,6\nElk,21/03/2025,oval,20x30,6\nHare,22/03/2025,square,A4,3\n",
        [
            job("Fox", "2025-03-14", 300, 400, outline="rectangle"),
            job("Owl", "2025-03-20", 250, 250, outline="round"),
            job("Elk", "2025-03-21", 200, 300, outline="oval"),
            job("Hare", "2025-03-22", 210, 297, outline="rectangle"),
        ],
    ),
    Sheet(
        "round slices by their diameter, detail by eye",
        US,
        "Piece,Done,Diameter (in),Detail,Hours\nFox,3/14/2025,9.5,4,5\nOwl,3/20/2025,8,2,3\n",
        [
            job("Fox", "2025-03-14", 9.5 * IN, 9.5 * IN, outline="round", texture="eye:4"),
            job("Owl", "2025-03-20", 8 * IN, 8 * IN, outline="round", texture="eye:2"),
        ],
    ),
    Sheet(
        "one letter headings",
        US,
        "Title,Date,W,H,Hours\nFox,3/14/2025,11,14,12\n",
        [job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12)],
    ),
    Sheet(
        "days in and out, numbers of jobs, a sign for a heading",
        US,
        "Job #,Job,Customer,Date in,Date out,Dims,Wood,Hrs,$\n"
        "101,Fox,Ann,1/2/25,3/14/25,11 X 14,Birch ply,about 12 hrs,350\n"
        '102,Owl,Bo,1/3/25,3/20/25,"10"" dia.",cherry,7½,$1200\n',
        [
            job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12, price="350"),
            job("Owl", "2025-03-20", 10 * IN, 10 * IN, outline="round", total_h=7.5, price="1200"),
        ],
    ),
    Sheet(
        "one letter and a unit, capitals, months in figures",
        US,
        "TITLE,W (in),H (in),TIME (HRS),DATE COMPLETED,SOLD FOR ($)\n"
        "Fox,11,14,12.25,March 2025,350\nOwl,8,10,6,3/2025,\n",
        [
            job("Fox", "2025-03-31", 11 * IN, 14 * IN, total_h=12.25, price="350"),
            job("Owl", "2025-03-31", 8 * IN, 10 * IN, total_h=6, price=None),
        ],
    ),
    Sheet(
        "sizes in words, what took days left out",
        US,
        "Piece,LxW,Total time,Year,Sale Price\nFox,11by14,12 h 15 min,2025,350.00 USD\n"
        "Owl,8 in. round,2 days,2024,USD 350\nElk,12in circle,45 min,2024,0\n",
        [
            job("Fox", "2025-12-31", 11 * IN, 14 * IN, total_h=12.25, price="350"),
            job("Elk", "2024-12-31", 12 * IN, 12 * IN, outline="round", total_h=0.75, price="0"),
        ],
        left={3: "'2 days' is no hours"},
    ),
    Sheet(
        "German words in one, days of order and delivery",
        DE,
        "Nr.;Kunde;Motiv;Auftragsdatum;Lieferdatum;Maße (mm);Holzart;Stunden gesamt;Endpreis\n"
        "1;Ann;Fuchs;1.2.2025;14.3.2025;300 x 400;Linde;12:30;350,00\n",
        [job("Fuchs", "2025-03-14", 300, 400, species="linde", total_h=12.5, price="350")],
    ),
    Sheet(
        "French months cut short, words between",
        FR,
        "Œuvre;Date de livraison;Format (cm);Essence de bois;Temps passé;Prix de vente\n"
        "Renard;14 févr. 2025;30 x 40;tilleul;12h30;350 €\n",
        [job("Renard", "2025-02-14", 300, 400, species="tilleul", total_h=12.5, price="350")],
    ),
    Sheet(
        "an unclosed quote: what comes after it is told",
        US,
        'Title,Date,Size,Hours\nFox,3/14/2025,11x14,12\n"Owl,3/20/2025,8x10,6\nElk,3/20/2025,8x10,6\n',
        [job("Fox", "2025-03-14", 11 * IN, 14 * IN, total_h=12)],
        left={3: "not CSV from here on"},
    ),
]


def _write(folder: Path, sheet: Sheet) -> Path:
    path = folder / "jobs.csv"
    path.write_bytes(sheet.text.encode(sheet.letters))
    return path


def _kept(studio: Studio) -> list[PastJob]:
    with studio.reading() as book:
        return list(book.scalars(select(PastJob).order_by(PastJob.id)))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_sheet_is_read_as_it_is_meant(studio: Studio, tmp_path: Path, sheet: Sheet) -> None:
    settings.save(studio, sheet.studio)
    path = _write(tmp_path, sheet)
    tried = past_import.bring_in(studio, path, sheet.told, dry_run=True)
    assert not _kept(studio)
    found = past_import.bring_in(studio, path, sheet.told)
    assert found.model_dump(exclude={"dry_run"}) == tried.model_dump(exclude={"dry_run"})
    faults = {fault.line: fault.problem for fault in found.faults}
    assert faults.keys() == sheet.left.keys(), faults
    for line, words in sheet.left.items():
        assert words in faults[line]
    kept = _kept(studio)
    assert [one.title for one in kept] == [one["title"] for one in sheet.wanted]
    for row, wanted in zip(kept, sheet.wanted, strict=True):
        for name, value in wanted.items():
            got = getattr(row, name)
            if name == "price" and value is not None:
                assert got == Decimal(value), (row.title, name)
            elif isinstance(value, float | int):
                assert got == pytest.approx(value), (row.title, name)
            else:
                assert got == value, (row.title, name)
    again = past_import.bring_in(studio, path, sheet.told)
    assert (again.added, again.known) == (0, len(kept))
    out = tmp_path / "out.csv"
    assert past.give_out(studio, out) == len(kept)
    assert past_import.bring_in(studio, out).known == len(kept)
