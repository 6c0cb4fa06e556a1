"""The trade's words, each with the spellings volunteers use for it."""

from __future__ import annotations

from types import MappingProxyType

from eaveline.private.schema import plain

BEHAVIOUR_CODES: MappingProxyType[str, int] = MappingProxyType(
    {
        "high overhead": 0,
        "low over roofs": 1,
        "pair circling": 3,
        "screaming party": 5,
        "visiting wall or eaves": 6,
        "carrying material": 9,
        "entering or leaving a nest": 13,
        "droppings or food carried": 14,
        "eggs": 15,
        "young": 16,
    }
)
"""EBCC breeding atlas code of each behaviour (second European Breeding Bird Atlas).

Code 12, recently fledged young, is not used: young swifts do not stay near the nest.
"""

NEST_EVIDENCE_CODE = 6
"""From this code on (a bird at a wall or eaves) an observation is evidence for a nest site."""

_SPECIES = {
    "swift": ("swifts", "common swift", "apus apus", "sw", "swft", "swif", "si", "swifft", "swfit"),
    "house martin": (
        "house martins", "martin", "martins", "housemartin", "housemartins", "hm", "h martin",
        "delichon urbicum", "delichon urbica", "h. martin", "hse martin", "house-martin", "house matrin",
    ),
}

_BEHAVIOUR = {
    "high overhead": (
        "high", "overhead", "high up", "flying high", "passing over", "feeding high", "feeding",
        "flyover", "fly over", "flying over", "high feeding", "high over", "passing", "high flock",
    ),
    "low over roofs": (
        "low", "over roofs", "low over rooftops", "roof height", "low flight", "low and silent",
        "flying low", "low silent", "low over houses", "rooftop height", "low pass", "low over the roofs",
    ),
    "pair circling": (
        "pair", "circling", "two circling", "circling pair", "circling building", "pair circling house",
        "circling roof", "pair round house", "two circling house",
    ),
    "screaming party": (
        "screaming", "screamers", "scream", "screaming parties", "party", "sp", "screaming low",
        "low screaming", "screaming group", "low level screaming", "low-level screaming party",
        "screaming at roof height", "screming party", "screamin", "screaming pty", "scr party", "low screaming party", "screaming past",
    ),
    "visiting wall or eaves": (
        "visiting", "banger", "bangers", "banging", "clinging", "at eaves", "visiting eaves",
        "visiting wall", "prospecting", "wall visit", "brushing wall", "clinging to wall", "visiting roof",
        "touching wall", "at the wall", "visit to wall", "visiting gutter", "at wall", "knocking", "visit", "prospector",
    ),
    "carrying material": (
        "carrying feathers", "nest material", "feathers", "building", "nest building", "mud",
        "carrying mud", "gathering mud", "collecting mud", "carrying nest material", "feather in bill", "taking material in", "material", "carrying",
    ),
    "entering or leaving a nest": (
        "entering", "leaving", "entered", "left nest", "in and out", "entering nest", "leaving nest",
        "going in", "going into roof", "entry", "entered hole", "entering hole", "flew in", "flew out",
        "entering or leaving", "entering/leaving", "into eaves", "entering roof", "came out", "went in", "seen going in", "went in under eaves", "entering nest hole", "exit", "ent nest", "in use",
    ),
    "droppings or food carried": (
        "droppings", "food", "food carried", "carrying food", "faecal sac", "bulging throat",
        "feeding young", "droppings under nest", "droppings below", "droppings on wall", "food carrying", "droppings or food", "fecal sac", "full throat",
    ),
    "eggs": ("egg", "eggs seen", "clutch", "eggs in nest", "eggshell", "on eggs"),
    "young": (
        "chicks", "chick", "nestlings", "young seen", "young heard", "young in nest", "pulli",
        "young at entrance", "young calling", "heads showing", "chicks heard", "young seen or heard", "young at nest", "chick seen", "chicks seen", "young birds in nest",
    ),
}

_STATUS = {
    "in use": ("used", "active", "occupied", "yes", "in use this season", "nesting", "busy", "live", "y", "current", "still in use", "being used"),
    "quiet this season": (
        "quiet", "not used", "unused", "empty", "no birds", "not in use", "inactive", "no", "quiet this year", "none seen", "n", "no activity", "nothing this year",
    ),
    "lost": (
        "gone", "destroyed", "reroofed", "re roofed", "lost to works", "demolished", "lost to roof work",
        "site lost", "nest lost", "nest gone", "lost (re-roofed)", "lost re roofed", "removed", "lost - reroofed", "lost reroof", "roof replaced",
    ),
    "blocked": ("blocked up", "sealed", "netted", "entrance blocked", "hole blocked", "filled in", "netting", "blocked off"),
    "not checked": ("unchecked", "unknown", "not visited", "didn't look", "not looked", "n/k", "not known", "dk", "?", "not seen", "nc", "no visit"),
}

_SEEN = {
    "not checked": ("unchecked", "not looked", "no check", "could not check", "unknown", "n/c", "couldn't check", "?", "nc", "not seen", "not inspected"),
    "empty": ("nothing", "none", "unused", "vacant", "nil", "no birds", "not used", "0", "no", "mt", "nobody"),
    "swift": ("swifts", "common swift", "sw", "apus apus", "swift pair", "swifts in", "swft"),
    "house martin": ("house martins", "martin", "martins", "hm", "housemartin"),
    "house sparrow": ("sparrow", "sparrows", "house sparrows", "hs", "h sparrow", "hsparrow", "sparows", "spug", "spadger", "spug nest", "housesparrow"),
    "starling": ("starlings", "sg", "starling nest"),
    "tit": ("blue tit", "great tit", "tits", "bluetit", "blue tits", "coal tit", "bt", "gt", "great tits", "blue tit nest"),
    "other": ("other bird", "bees", "bee", "wasps", "wasp", "something else", "other species", "bumblebees", "bumble bees", "wren", "jackdaw", "bat", "bats", "wasps nest", "tree bumblebees"),
}

_STAGE = {
    "prospecting": ("looking", "visiting", "visited", "prospectors", "roosting"),
    "building": ("nest building", "nest", "lining", "building nest", "nest material", "nest started", "nest only"),
    "eggs": ("egg", "incubating", "laying", "on eggs", "sitting", "clutch"),
    "young": ("chicks", "nestlings", "feeding", "chick", "pulli", "with young", "feeding young"),
    "fledged": ("flown", "fledglings", "gone", "left", "young flown", "fledged young", "all fledged"),
    "failed": ("abandoned", "lost", "dead", "deserted"),
    "empty": ("none", "nothing", "-", "n/a", "no nest"),
}

_FACING = {
    "N": ("north", "northerly", "n facing", "north facing", "facing north"),
    "NE": ("north east", "northeast", "n e", "north-east facing", "ne facing"),
    "E": ("east", "easterly", "e facing", "east facing", "facing east"),
    "SE": ("south east", "southeast", "s e", "se facing"),
    "S": ("south", "southerly", "s facing", "south facing", "facing south"),
    "SW": ("south west", "southwest", "s w", "sw facing"),
    "W": ("west", "westerly", "w facing", "west facing", "facing west"),
    "NW": ("north west", "northwest", "n w", "nw facing"),
}

_YES_NO = {
    "yes": ("y", "true", "1", "on", "ok", "agreed", "t", "yep", "yes please", "yes ok", "x", "yes agreed", "happy to share"),
    "no": ("n", "false", "0", "off", "none", "f", "nope", "refused", "no thanks", "not", "-", "private", "no please"),
}

_DECISION = {
    "same": ("one", "merge", "join", "yes", "s", "same one", "duplicate"),
    "different": ("two", "separate", "keep apart", "no", "not the same", "d", "differ"),
}


def _table(words: dict[str, tuple[str, ...]]) -> MappingProxyType[str, str]:
    table: dict[str, str] = {}
    for canonical, spellings in words.items():
        for spelling in (canonical, *spellings):
            table.setdefault(plain(spelling) or spelling, canonical)
    return MappingProxyType(table)


VOCABULARIES: MappingProxyType[str, MappingProxyType[str, str]] = MappingProxyType(
    {
        "species": _table(_SPECIES),
        "behaviour": _table(_BEHAVIOUR),
        "status": _table(_STATUS),
        "seen": _table(_SEEN),
        "stage": _table(_STAGE),
        "facing": _table(_FACING),
        "yes or no": _table(_YES_NO),
        "decision": _table(_DECISION),
    }
)
"""For each vocabulary: a spelling without case, spaces or punctuation, and what it means."""

CANONICAL: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {
        "species": tuple(_SPECIES),
        "behaviour": tuple(_BEHAVIOUR),
        "status": tuple(_STATUS),
        "seen": tuple(_SEEN),
        "stage": tuple(_STAGE),
        "facing": tuple(_FACING),
        "yes or no": tuple(_YES_NO),
        "decision": tuple(_DECISION),
    }
)
"""The canonical words of each vocabulary, in the order they are listed to people."""
