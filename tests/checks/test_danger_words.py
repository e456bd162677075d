"""Words of danger: what a name tells of is caught, and what is harmless is left in peace.

Both lists are our own, written before they were tried; nothing outside judges such words.
"""

from __future__ import annotations

import pytest

from workbench.checks.cautions.danger_words import spotted
from workbench.checks.cautions.statements import says_enough

#: Names with the use that each tells of.
DANGEROUS = {
    "mains": ["mains socket cover", "wall outlet plate", "lamp socket ring", "plug housing", "light switch rocker", "fuse holder lid", "hair dryer nozzle", "Steckdosenabdeckung", "Lichtschalterwippe", "Lüsterklemmenhalter", "junction box lid", "230V timer case"],
    "pressure": ["pressure cooker valve", "steam mop nozzle", "compressor hose coupling", "boiler tap", "pipe fitting", "Druckluftkupplung", "Schnellkochtopf-Ventil"],
    "weight": ["ladder rung", "step stool foot", "handrail bracket", "bed slat holder", "hammock hook", "office chair caster", "swing seat eyelet", "Leitersprosse", "Handlaufhalter", "Lattenrosthalter", "grab bar end", "Hockerfuß"],
    "fire": ["gas hob knob", "gas tap handle", "fireplace handle", "smoke detector bracket", "candle holder", "camping stove leg", "Gasherdknopf", "Rauchmelderhalter", "Kerzenhalter", "fire extinguisher clip"],
    "vehicle": ["bicycle brake lever", "car seat clip", "handlebar end", "seat belt guide", "lawn mower wheel", "table saw blade guard", "wheelchair armrest", "Bremshebel", "Lenkergriff", "Kettensägenabdeckung", "throttle pedal", "scooter stem clamp"],
    "medical": ["finger splint", "hearing aid clip", "insulin pump holder", "crutch tip", "pill splitter", "glasses frame hinge", "earring hook", "Zahnschiene", "Rollatorgriff", "Brillenbügel", "inhaler cap"],
    "sport": ["climbing hold", "carabiner", "bike helmet buckle", "ski binding spacer", "harness clip", "dumbbell collar", "Klettergriff", "Helmschnalle", "Skibindung", "belay device"],
    "child": ["baby rattle", "teething ring", "pacifier clip", "toy car wheel", "pushchair hook", "stair gate latch", "Schnullerkette", "Spielzeugrad", "Treppenschutzgitter", "Kindersicherung"],
    "pet": ["dog chew toy", "cat toy ball", "hamster wheel axle", "dog collar buckle", "Hundespielzeug", "Kauknochen", "Katzenhalsband"],
    "heat": ["oven knob", "kettle lid", "dishwasher rack clip", "radiator bracket", "Herdknopf", "Auspuffhalter", "saucepan handle"],
    "food": ["cookie cutter", "baby bottle ring", "ice cream scoop", "Ausstechform", "Trinkflasche", "salt shaker lid"],
}  # fmt: skip

#: Names of things that are often made again and that hurt nobody.
HARMLESS = """
tray divider; curtain ring; drawer stop; shelf peg; battery door; knob; cable guide; blind clip; cabinet foot; hinge pin
remote control lid; broom holder; hose reel handle; plant label; pot feet; window latch cover; drawer runner wheel; mirror clip
picture frame corner; tent peg; tool hook; screwdriver rack; bit holder; vacuum nozzle; vacuum hose adapter; tape dispenser
pencil case hinge; bookend; book stand; tablet stand; phone dock; headphone hook; keyboard foot; mouse wheel; camera lens cap
tripod knob; umbrella tip; coat hook; hat peg; shoe rack end; clothes peg; laundry basket handle; ironing board foot
washing line pulley; soap dish; toilet roll core; towel rail cap; shower curtain ring; shower rail end; toothbrush holder; bath plug
tap aerator key; sink strainer basket handle; bin lid hinge; bread bin knob; cupboard hinge cover; kitchen drawer divider; spice rack rail
cutlery tray divider; plate rack foot; tea towel hook; jar label; wine rack peg; bottle carrier handle; sewing machine bobbin; thread spool
button; zip puller; knitting needle cap; loom shuttle; embroidery hoop screw; piano pedal felt holder; guitar peg; capo pad; music stand knob
violin chin rest cap; metronome weight; record player foot; cassette gear; clock hand; clock dial; clock key; watch box hinge; jewellery box hinge
calendar stand; desk organiser; pen cup divider; stapler spring seat; hole punch tray; label holder; file box foot; paper tray; printer tray stop
scanner lid hinge; laptop foot; monitor spacer; cable clip; usb cap; sd card case; router stand; antenna clip; speaker foot; turntable hinge
garden label; flower pot saucer; trellis clip; bean pole cap; greenhouse clip; watering can rose; hose coupling for a garden hose holder; rake head wedge
wheelbarrow grip; shed door latch; gate latch; letter box flap; house number; door stop; door wedge; doorbell cover; key tag; key cabinet hook
window handle rosette; roller blind end; curtain rod end; curtain glider; venetian blind tab; fly screen corner; skirting clip; tile spacer
paint can opener; brush cap; sanding block; glue nozzle; clamp pad; vice jaw; drill bit box; saw blade box hinge; tape measure clip; level cap
bike bell bracket; bicycle basket clip; bottle cage spacer; mudguard clip; valve cap; bike wall hook; car cup holder lid; glove box latch
parcel shelf peg; number plate frame; licence holder; boot floor clip; suitcase wheel; suitcase handle; bag buckle; tent pole end; sleeping bag toggle
board game insert; chess pawn; dice tower; puzzle tray; card box; model railway fence; model house roof; aquarium thermometer; microscope slide box
globe stand; telescope cap; binocular strap end; lens cloth box; museum label; trophy base; medal hanger; flag pole cap; balloon weight; lantern hook
Schubladenteiler; Vorhangring; Möbelgleiter; Regalträger; Batteriefach; Drehknopf; Kabelclip; Jalousieclip; Schrankfuß; Scharnierstift
Garderobenhaken; Besenhalter; Spiegelklammer; Fensterriegel; Türstopper; Briefkastenklappe; Hausnummer; Wäscheklammer; Seifenschale; Handtuchhaken
Leiterplattenhalter; Bilderrahmenecke; Stifthalter; Buchstütze; Schlüsselhaken; Blumentopffuß; Rankhilfe; Gießkannentülle; Zeltstange; Kofferrolle
Gardinengleiter; Rollladengurt; Schubladenrolle; Dosenöffnergriff; Besteckeinsatz; Gewürzregal; Flaschenhalter; Tablettständer; Kopfhörerhaken
Mausrad; Tastaturfuß; Druckerfach; Lautsprecherfuß; Kabelkanal; Gummifuß; Unterlegscheibe; Distanzhülse; Dübel; Abstandshalter
"""  # fmt: skip


def harmless() -> list[str]:
    return [name.strip() for line in HARMLESS.strip().splitlines() for name in line.split(";")]


@pytest.mark.parametrize("use", DANGEROUS)
def test_each_danger_is_told_by_the_name_alone(use):
    missed = [name for name in DANGEROUS[use] if use not in spotted(name)]
    assert missed == []


def test_harmless_names_are_left_in_peace():
    alarms = {name: found for name in harmless() if (found := spotted(name))}
    assert len(harmless()) >= 200
    assert len(alarms) <= 0.02 * len(harmless()), alarms


def test_a_word_is_read_whole_however_it_is_typed():
    assert "fire" in spotted("GAS_TAP"), spotted("GasTap") == spotted("gas tap")
    assert "fire" in spotted("Feuerloescher-Halter")
    assert spotted("gasket") == spotted("Leiterplatte") == spotted("forklifting toolbar") == {}
    assert spotted() == spotted("") == {}


@pytest.mark.parametrize(
    ("rule", "statement"),
    [
        ("mains", "An electrician fitted the maker's cover; this is only its trim."),
        ("mains", "Es hält nur eine 12-V-Lampe"),
        ("pressure", "It is an open drain without any pressure on it"),
        ("weight", "Nobody stands on it, it holds two towels"),
        ("fire", "The hob is electric; no gas is in the house"),
        ("vehicle", "It only holds the bike on the garage wall"),
        ("medical", "It is a stand and never touches the skin"),
        ("sport", "Der Griff hängt als Deko an der Wand"),
        ("small parts", "Nur Erwachsene nutzen ihn"),
        ("fits the bed", "I printed it last week on the larger printer without trouble"),
    ],
)
def test_a_statement_that_names_what_was_done_is_taken(rule, statement):
    assert says_enough(rule, statement)


@pytest.mark.parametrize("rule", ["mains", "weight", "fire", "vehicle", "medical", "sport"])
@pytest.mark.parametrize(
    "statement",
    ["bla bla bla", "one two three four", "this is really fine", "I know what I do", "trust me, it is not needed", "not not not not"],
)  # fmt: skip
def test_any_few_words_lift_nothing(rule, statement):
    assert not says_enough(rule, statement)


def test_three_words_are_too_few_and_four_may_do():
    assert not says_enough("mains", "not live wire")
    assert says_enough("mains", "not a live wire")
