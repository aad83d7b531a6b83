"""Words for colours, by which an ink may be guessed from the name of its file.

Plain data: words in lower case, without accents (see `plain_words`), and the screen colour that
each stands for. Nobody measured an ink for them.
"""

import re
import unicodedata
from collections.abc import Mapping
from types import MappingProxyType

from PIL import ImageColor

_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "ł": "l", "ı": "i", "đ": "d", "æ": "ae", "œ": "oe"})

# Adjectives in 18 languages of Latin script, from the names of coloured circles and hearts
# (annotations of U+1F534, U+2764 and their like) in the Unicode CLDR 48.2: English, German, French,
# Italian, Spanish, Portuguese, Catalan, Dutch, Swedish, Danish, Finnish, Polish, Czech, Hungarian,
# Romanian, Turkish, Croatian, Indonesian. Which screen colour stands for them is our choice.
_CLDR = {
    "#d0202a": (
        "red roter rotes rouge rosso rojo vermelho vermell rode rood rod rott rodt "
        "punainen czerwone cerveny rude piros voros rosu rosie kirmizi crveni crveno"
    ),
    "#ee7d1a": (
        "orange oranger arancione naranja laranja taronja oranje oranssi pomaranczowe "
        "oranzovy oranzove narancssarga portocaliu portocalie turuncu narancasti "
        "narancasto oranye"
    ),
    "#ffe000": (
        "yellow gelber gelbes jaune giallo amarillo amarelo groc gele geel gul gult "
        "keltainen zolte zluty zlute sarga galben galbena sari zuti zuto kuning"
    ),
    "#1f8a4c": (
        "green gruner grunes vert verde verd groene groen gron gront vihrea zielone "
        "zeleny zelene zold yesil zeleni zeleno hijau"
    ),
    "#1f4fa3": (
        "blue blauer blaues bleu blu azul blau blauwe blauw bla blatt blat sininen "
        "niebieskie modry modre kek albastru albastra mavi plavi plavo biru"
    ),
    "#6a3f9c": (
        "purple lila violet viola morado roxo paarse paars lilla violetti fioletowe "
        "purpurowe fialovy fialove mov mor ljubicasti ljubicasto ungu"
    ),
    "#7a4a2a": (
        "brown brauner braunes marron marrone marrom marro bruine bruin brun brunt "
        "ruskea brazowe hnedy hnede barna maro kahverengi smedi smede cokelat"
    ),
    "#000000": (
        "black schwarzer schwarzes noir nero negro preto negre zwarte zwart svart sort "
        "musta czarne cerny cerne fekete negru neagra siyah crni crno hitam"
    ),
    "#ffffff": (
        "white weisser weisses blanc bianco blanco branco witte wit vit vitt hvid hvidt "
        "valkoinen biale bily bile feher alb alba beyaz bijeli bijelo putih"
    ),
    "#f07aa8": (
        "pink pinkes rose rosa roze lyserodt pinkki rozowe ruzove rozsaszin roz pembe ruzicasto"
    ),
    "#808080": ("grey gris grigio cinza grijs gratt grat harmaa szare sede szurke gri sivo"),
}

# From memory: base forms and spellings that file names have, process inks, metals.
_MORE = {
    "#d0202a": "rot",
    "#ffe000": "gelb y",
    "#1f8a4c": "grun gruen gronn",
    "#1f4fa3": "bleue",
    "#6a3f9c": "violett",
    "#7a4a2a": "braun",
    "#000000": "schwarz key k",
    "#ffffff": "weiss",
    "#808080": "gray grau",
    "#00a0dc": "cyan zyan c",
    "#d6006e": "magenta m",
    "#17808a": "teal turquoise tuerkis turkis turchese turquesa petrol",
    "#1c2a55": "navy indigo",
    "#b08d3a": "gold oro",
    "#a9adb0": "silver silber argent argento",
}

_COMPOUNDED = (
    "black blue green yellow grey gray brown white pink purple orange schwarz blau grun gruen gelb "
    "grau braun weiss violett rosa lila zwart blauw groen geel grijs bruin oranje svart gron"
)
ENDINGS = frozenset(_COMPOUNDED.split())
"""Words that may end a longer one, as in dunkelblau; others would be found in mimosa and overt."""

_OWN = {
    word: colour
    for table in (_CLDR, _MORE)
    for colour, words in table.items()
    for word in words.split()
}


def _css() -> dict[str, str]:
    """The named colours of CSS; Pillow keeps those that were asked for in another form."""
    told = {name: ImageColor.getrgb(name)[:3] for name in ImageColor.colormap}
    return {name: "#{:02x}{:02x}{:02x}".format(*rgb8) for name, rgb8 in told.items()}


COLOURS: Mapping[str, str] = MappingProxyType({**_css(), **_OWN})
"""Screen colours "#rrggbb" by word: those above, then the named colours of CSS.

CSS Color Module Level 4, section 6.1, as Pillow has them: coral, midnightblue. Where both know a
word, as red, the colour above holds: it is nearer to what is printed than a lamp of the screen.
"""

OF_WEB_PAGES = frozenset(COLOURS) - frozenset(_OWN)
"""Words that stand for what web pages show: there plum is a pale violet, which no printer means."""

# What names of plates hold beside the ink; from memory.
_BESIDES = (
    "v ver vers version rev revision draft final finale finals finished definitive new old latest "
    "copy kopie copie copia export exported exp print printing druck plate plates platte plaque "
    "lastra placa plaat plat layer ebene calque livello capa laag ink inks farbe encre inchiostro "
    "tinta inkt spot sep seps separation separations channel kanal canal master page seite "
    "panel spread side sheet bogen the a of neu alt fertig korr"
)
NO_INK = frozenset(_BESIDES.split())
"""Words that say nothing of a colour."""


def plain_words(name: str) -> tuple[str, ...]:
    """Words of a name in lower case, without accents, numbers and dates.

    >>> plain_words("2026-11-28 Dunkelgrün_v2")
    ('dunkelgrun', 'v')
    """
    letters = unicodedata.normalize("NFKD", name.lower().translate(_LETTERS))
    plain = "".join(c for c in letters if not unicodedata.combining(c))
    return tuple(re.findall(r"[^\W\d_]+", plain))
