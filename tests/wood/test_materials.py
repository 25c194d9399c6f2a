"""Names of materials as people type them, each with the verdict that its source asks for.

The sources were read apart from the table: where one could not be, it says so.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.wood.hazards import Level, hazards_of, hazards_said
from burnplan.wood.materials import BLOCKING, all_materials, found_in, said_in, words_of
from burnplan.wood.species import all_species, own_species

# What people call it, and what it is; after the source of the verdict. A verdict is the
# hazards in their order but for "unlisted", which every wood outside the species table has.
EPA_TREATED = "US EPA on arsenic-treated wood: never burn it; an air quality district's notice"
EPA_COATED = "US EPA Burn Wise, as quoted: coated, painted wood"
EPA_GLUE = "US EPA Burn Wise, as quoted: plywood, particle board, any wood with glue on or in it"
EPA_PLASTIC = "US EPA Burn Wise, as quoted: plastics"
HSE_MDF = "HSE, MDF frequently asked questions: fibres bound with a resin, mostly of formaldehyde"
PRACTICE = "common practice, no source"
MEMORY = "from memory"
NIOSH = "NIOSH, poisonous plants: burning poison ivy, oak or sumac can injure the lungs"
CHART = "Woods Toxic to Man, American Woodturner, June 1990, after Woods and Calnan 1976"
CORNELL = "Cornell University's poisonous plants pages, after Fuller and McClintock: its smoke"
OPHTHALMOLOGY = "British Journal of Ophthalmology 77:284-288, 1993: sap of manchineel"
HANSARD = "Hansard, written answers, 2 August 1978: timbers implicated"
HSE = "HSE WIS30: absence from a list does not mean safe"
OSHA = "OSHA on wood dust: ACGIH's limit for western red cedar"
NAMES = [
    (EPA_TREATED, "treated resinous", [
        "pine (treated)", "treated, pine", "PINE, TREATED", "pine/treated",
        "pine - pressure treated", "pressure-treated pine", "Pressure Treated Pine",
        "preasure treated pine", "presure-treated pine", "treatd pine", "traeted pine",
        "tretaed pine", "treeted pine", "pine, preserved", "pine cca", "CCA pine",
        "C.C.A. pine", "pine ACQ", "copper azole pine", "pine, treated (garden)",
        "impregnated pine",
    ]),
    (MEMORY, "treated", [
        "creosote", "creosoted beam", "creosot beam", "railway sleeper", "railway sleepers",
        "old railroad tie", "tie, railroad", "rail-road tie", "sleeper (railway)",
        "telegraph pole", "utility pole", "pentachlorophenol", "fire retardant board",
        "crossties",
    ]),
    (EPA_COATED, "painted", [
        "painted", "board, painted", "white painted board", "paintd board",
        "panted paitned board", "painted/primed", "primed board", "gesso panel",
        "enamelled board",
    ]),
    (EPA_COATED, "stained", [
        "stained board", "board (stained)", "staned board", "dyed veneerless board",
    ]),
    (EPA_COATED, "sealed", [
        "varnished board", "board, varnished", "varnishd board", "vanished varnisht board",
        "lacquered box", "laquered box", "lackered box", "shellacked box", "oiled board",
        "waxed board", "board waxed and oiled", "polyurethane board", "finished board",
        "pre-finished board", "sealed slab", "seeled slab",
    ]),
    (EPA_PLASTIC, "plastic", [
        "plastic", "Plastics", "laminate", "laminate board", "laminates", "melamine board",
        "melamin board", "acrylic", "acrylik sheet", "PVC", "P.V.C.", "vinyl sheet",
    ]),
    (MEMORY, "plastic", [
        "epoxy", "epoxy river table", "expoxy table", "river table", "stabilised burl",
        "stabilized burl", "epoxi slab",
    ]),
    (MEMORY, "plastic resinous", [
        "resin-filled slab",
    ]),
    (HSE_MDF, "mdf", [
        "MDF", "mdf", "M.D.F.", "M D F", "m-d-f", "mfd", "dmf", "mdff", "mdf board",
        "board of MDF", "MDF, raw", "HDF", "medium density fibreboard",
        "medium-density fiberboard", "fibreboard (medium density)", "fiber board",
        "fibre board", "fibrebord", "hardboard", "hard board",
    ]),
    (EPA_GLUE, "particle-board", [
        "particle board", "particleboard", "particel board", "particule-board", "chipboard",
        "chip board", "chip-bord chipbord", "OSB", "O.S.B.", "oriented strand board",
    ]),
    (PRACTICE, "reclaimed", [
        "reclaimed", "pallet", "pallets", "palet wood", "old pallet wood", "salvaged beam",
        "driftwood", "drift wood", "barnwood", "barn wood", "barn-board", "reclaimd board",
        "unknown wood", "recycled board",
    ]),
    (CHART, "poisonous", [
        "yew", "English yew", "yew, English", "Irish yew", "Taxus baccata", "taxus",
        "baccata (Taxus)", "TAXUS BACCATA", "Taxus cuspidata", "taxsus baccata", "ywe",
    ]),
    (CORNELL, "poisonous", [
        "oleander", "Nerium oleander", "oleandr", "olaender", "nerium",
    ]),
    (NIOSH, "poisonous", [
        "poison ivy", "ivy, poison",
    ]),
    (NIOSH, "poisonous which-sumac", [
        "poison-sumac", "poison sumach",
    ]),
    (MEMORY, "poisonous", [
        "Toxicodendron radicans", "Toxicodendron vernix", "poisonwood", "toxicodendrum",
        "laburnum", "Laburnum anagyroides", "laburnam", "golden chain tree",
        "Metopium toxiferum",
    ]),
    (MEMORY, "poisonous which-sumac", [
        "Rhus toxicodendron",
    ]),
    (OPHTHALMOLOGY, "poisonous", [
        "manchineel", "manchineal", "Hippomane mancinella", "manchinel",
    ]),
    (EPA_GLUE, "glued", [
        "laminated board", "glued panel", "edge-glued panel", "glulam", "bamboo",
        "finger-jointed panel",
    ]),
    (EPA_GLUE, "glued resinous", [
        "laminated pine", "pine, laminated", "Pine (laminated, solid strips)", "glued pine",
        "spruce glulam",
    ]),
    (PRACTICE, "perhaps-treated", [
        "decking", "fence post", "heat-treated ash", "ash (heat treated)",
        "thermally modified ash",
    ]),
    (EPA_GLUE, "plywood", [
        "plywood", "poplar ply", "basswood plywood", "Plywood, poplar", "ply-wood",
    ]),
    (EPA_GLUE, "plywood irritant", [
        "birch plywood", "Plywood, birch", "plywood (birch)", "birch/plywood",
        "walnut-veneered board",
    ]),
    (PRACTICE, "resinous", [
        "pine", "Scots pine", "Pinus sylvestris", "Norway spruce", "Picea abies", "larch",
        "untreated pine", "pine, untreated", "pine (not treated)", "non-treated pine",
        "unpainted pine", "resinous board",
    ]),
    (OSHA, "resinous irritant", [
        "western red cedar", "cedar, western red", "Thuja plicata",
    ]),
    (CHART, "irritant", [
        "olive", "Olea europaea", "rosewood", "Dalbergia nigra", "teak", "Tectona grandis",
        "iroko", "wenge", "cocobolo", "padauk", "English oak", "oak, English",
        "unvarnished oak", "unfinished oak", "wild black locust", "Robinia pseudoacacia",
        "satin walnut", "prime oak",
    ]),
    (HANSARD, "irritant", [
        "sweet chestnut", "Castanea sativa", "afrormosia", "makore",
    ]),
    (MEMORY, "which-sumac", [
        "staghorn sumac", "Rhus typhina", "mango",
    ]),
    (CHART, "poisonous irritant", [
        "yew and oak",
    ]),
    (NIOSH, "poisonous irritant", [
        "poison oak", "oak, poison",
    ]),
    (EPA_TREATED, "treated mdf", [
        "treated MDF", "MDF (treated)",
    ]),
    (HSE_MDF, "mdf irritant", [
        "MDF/birch", "birch-faced MDF", "MDF, oak",
    ]),
    (EPA_GLUE, "mdf plywood", [
        "MDF plywood sandwich",
    ]),
    (CHART, "spalted", [
        "spalted maple", "maple, spalted", "mouldy maple",
    ]),
    (EPA_TREATED, "treated resinous", [
        "PT pine", "pressuretreated pine", "pretreated pine",
    ]),
    (MEMORY, "treated", [
        "P.T. lumber", "treatedpine", "kreosote", "telegraf pole", "tarred plank", "rail sleeper",
        "fire-retardent board",
    ]),
    (EPA_COATED, "painted", [
        "whitewashed board", "free of varnish, but painted", "prepainted board",
    ]),
    (EPA_COATED, "stained", ["woodstain on board", "bleached maple"]),
    (EPA_COATED, "sealed", [
        "board with tung oil", "hard-wax oil on board", "beeswaxed board", "clear coat",
        "board, matte finish", "laqured board", "urethane", "decoupaged box",
    ]),
    (EPA_COATED, "sealed irritant", [
        "linseed oil on oak", "danish oil, walnut", "French-polished mahogany",
    ]),
    (MEMORY, "plastic", [
        "HPL", "epoxied slab", "fibreglass", "foam board", "lino", "ABS sheet", "silicone mat",
    ]),
    (MEMORY, "plastic plywood", ["film-faced plywood", "phenolic ply"]),
    (EPA_GLUE, "particle-board", ["OSB3", "osb/3", "MFC board"]),
    (HSE_MDF, "mdf", ["MDO"]),
    (PRACTICE, "reclaimed", ["old door", "whisky barrel stave", "beach wood", "wine crate"]),
    (MEMORY, "poisonous", [
        "Strychnos nux-vomica", "Gluta renghas", "yewtree", "Taxus × media", "yew hedge root",
        "Hura crepitans", "labernum",
    ]),
    (NIOSH, "poisonous", ["poisen ivy", "posion ivy"]),
    (PRACTICE, "chrome-tanned leather", ["chrome-tanned leather", "leather (chrome tanned)"]),
    (PRACTICE, "leather", ["leather", "veg-tan leather"]),
    (PRACTICE, "dusty", ["gourd", "Lagenaria", "antler"]),
    (MEMORY, "poisonous-plant", ["mountain laurel", "Kalmia latifolia", "tree of heaven"]),
    (EPA_GLUE, "glued", ["CLT panel", "compressed wood", "hollow-core door"]),
    (OSHA, "resinous irritant", ["WRC", "western red ceder"]),
    (CHART, "irritant", ["cocobola", "paduak", "mahogony", "oak stair tread", "oak headboard"]),
    (HSE, "", [
        "paint-grade poplar", "stain-grade alder", "finish-grade maple", "bird's-eyed maple",
        "burnished maple", "clipboard", "chess board", "reserved slab", "hand-rubbed maple",
        "never been treated", "wood, not treated, not painted", "free of paint", "lined box",
        "basswood, ca. 30 cm", "feather-grain maple", "kiln-dried ash",
    ]),
    (HSE, "", [
        "plum", "pear", "hazel", "quince", "elder", "viburnum", "medlar", "rowan",
        "wild service tree", "mallet handle wood", "new wood", "hornbeam", "Prunus domestica",
        "oleaster",
    ]),
]  # fmt: skip
ROWS = [(name, verdict.split()) for _, verdict, names in NAMES for name in names]


def verdict(name: str) -> list[str]:
    return [hazard.key for hazard in hazards_of(own_species(name)) if hazard.key != "unlisted"]


def test_there_are_enough_of_them() -> None:
    assert len({name for name, _ in ROWS}) >= 200
    assert all(source for source, _, _ in NAMES)


@pytest.mark.parametrize(("name", "wanted"), ROWS, ids=[name for name, _ in ROWS])
def test_a_name_has_its_verdict(name: str, wanted: list[str]) -> None:
    assert verdict(name) == wanted


@pytest.mark.parametrize(("name", "_wanted"), ROWS, ids=[name for name, _ in ROWS])
def test_what_blocks_is_never_or_poisonous(name: str, _wanted: list[str]) -> None:
    never = {one.key for one in all_materials() if one.grade in BLOCKING}
    for hazard in hazards_of(own_species(name)):
        assert (hazard.level is Level.BLOCK) is (hazard.key in never)
        assert hazard.source
        assert "come first" in hazard.advice


@given(st.permutations(["pine", "board", "treated", "30"]), st.sampled_from(" ,/-(_;.+"))
def test_neither_order_nor_punctuation_matters(words: list[str], between: str) -> None:
    assert "treated" in verdict(between.join(words))


@pytest.mark.parametrize("species", all_species(), ids=lambda one: one.key)
def test_no_wood_of_the_table_is_taken_for_what_must_not_be_burned(species: object) -> None:
    for name in (species.name, species.botanical, *species.aliases):  # type: ignore[attr-defined]
        found = {match.material.grade for match in found_in(name)}
        assert not found & set(BLOCKING), name


def test_each_material_names_its_source() -> None:
    for one in all_materials():
        assert one.source
        assert one.reason
        assert (one.grade in BLOCKING) is (not one.advice) or one.key == "irritant"


def test_a_misspelling_is_said_to_be_one() -> None:
    (found, *_) = hazards_of(own_species("mfd panel"))
    assert found.level is Level.BLOCK
    assert "'mfd' may be meant for mdf" in found.reason
    assert "spell it right" in found.advice
    (found, *_) = hazards_of(own_species("ywe"))
    assert "'ywe' may be meant for yew" in found.reason


def test_words() -> None:
    assert words_of("Chêne (verni)/N° 2") == ["chene", "verni", "n", "2"]
    assert words_of("") == []


# An order's own words: a client's letter, made up.
SAID = [
    ("Their cat, on the MDF panel they bring", ["mdf"]),
    ("MDF", ["mdf"]),
    ("Horse on a painted board", ["painted"]),
    ("Painted horse", []),
    ("A yew at dawn, with an oleander beside it", []),
    ("Portrait, burned on yew", ["poisonous"]),
    ("Portrait on a slice of yew", ["poisonous"]),
    ("The old barn where they met", []),
    ("Barn, on old barn wood", ["reclaimed"]),
    ("On a piece of driftwood, please", ["reclaimed"]),
    ("Driftwood beach at low tide", []),
    ("Station sign. On a railway sleeper.", ["treated"]),
    ("Wanted on pressure treated pine", ["treated"]),
    ("Stained glass window of the chapel", []),
    ("Not on MDF", []),
    ("On laminated pine", ["glued"]),
    ("On basswood", []),
    ("Happy on her painted bicycle", []),
    ("A river table with epoxy", ["plastic"]),
    ("On a laquered box", ["sealed"]),
    ("Owl on a branch\nfor the yew hedge society", []),
]


@pytest.mark.parametrize(("text", "wanted"), SAID)
def test_what_an_order_says_of_its_wood(text: str, wanted: list[str]) -> None:
    assert [match.material.key for match in said_in(text)] == wanted
    assert [hazard.key for hazard in hazards_said(text)] == wanted
