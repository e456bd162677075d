"""Words of danger: what a name tells of is caught, and what is harmless is left in peace.

Both lists are our own, written before they were tried; nothing outside judges such words.
"""

from __future__ import annotations

import pytest

from workbench.checks.cautions.statements import says_enough
from workbench.data.danger_words import spotted

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

#: More of both: the first of each was written, and tried, before the words were added to.
MORE_DANGEROUS = """
doorbell transformer housing; extension lead clamp; ceiling lamp bracket; sewing machine mains plug cap; plug adapter shell
kettle base plug; wall lamp canopy; shaver socket frame; oven door handle; cooker hood filter clip; wood burner door knob
gas bottle regulator cap; BBQ lid handle; chimney damper handle; paraffin heater wick knob; ladder foot; rope ladder rung
loft ladder hinge; stair nosing; child's car seat buckle; bike brake pad holder; brake cable clamp; pram wheel hub; cot side catch
climbing rope clip; swing hook; hammock ring; trapeze bar cap; pool ladder step; bicycle saddle rail clamp; motorbike mirror arm
trailer hitch pin; e-scooter folding latch; mobility scooter tiller knob; walker foot; wheelchair brake lever; crutch handle
knee brace hinge; dental guard; asthma inhaler cap; CPAP hose clip; hearing aid battery door; pressure washer gun trigger
air compressor knob; radiator valve knob; toilet fill valve; garden hose splitter tap; boiler thermostat knob; pressure cooker handle
espresso machine portafilter handle; fire alarm cover; emergency exit sign clip; smoke alarm base plate; seat belt stalk
chainsaw chain cover; table saw fence guard; angle grinder guard; lawnmower blade washer; drill chuck guard; paraglider buckle
ski boot buckle; climbing shoe hook; helmet visor screw; life jacket buckle; rifle scope mount; treadmill safety key; dog chew bone
bird cage perch; dog lead clip; cat collar bell; baby bottle brush cap; baby gate hinge; toy train wheel; dummy holder; teething necklace
drinking straw; ice lolly mould; bread knife handle; food mixer beater; Steckdosenrahmen; Lampenfassung; Netzstecker-Gehäuse
Verlängerungskabel-Klemme; Gasherd-Knopf; Backofengriff; Kaminofengriff; Grilldeckelgriff; Leiterfuß; Treppenstufe; Stuhlrolle
Hängesesselhaken; Schaukelhaken; Kindersitz-Schnalle; Fahrradbremse; Bremsbelag; Pedal; Anhängerkupplung; Rollstuhlrad; Krückenspitze
Hörgeräteetui-Clip; Zahnspangendose; Dampfkochtopfgriff; Heizungsventil; Wasserhahngriff; Feuermelder-Sockel; Kettensägenschutz
Kletterkarabiner; Fahrradhelm-Clip; Skischuhschnalle; Hundeleine-Karabiner; Babyflaschenring; Schnullerhalter; Spielzeugauto-Achse
Plätzchenausstecher; Trinkhalm; 230-V-Abdeckung; Sicherungskastentür
mains plug pin cover; consumer unit blank; thermostat cover for mains heating; washing machine door catch heater
cable gland for 230 V box; iron cord guard; toaster lever; microwave turntable coupler; cooker knob; gas fire knob; log burner vent
propane ring clip; step ladder hinge; loft hatch ladder clip; bunk bed rail bracket; rocking chair runner cap; bar stool foot
bath grab rail cover; balcony rail spacer; bike handlebar end plug; car brake lever grip; bicycle pedal cap; child seat harness guide
trolley jack handle collar; chainsaw bar nut cover; mower blade spacer; helmet chin clip; carabiner gate; climbing hold jug
ski binding plate; canoe seat bolt; dumbbell end cap; hearing aid tube clip; insulin pen cap; finger splint clip; glasses hinge
walking stick tip; wheelchair footrest cap; pressure cooker lid valve; compressed air nozzle; boiler filling loop key
steam iron tank lid; smoke detector mounting ring; fire extinguisher wall hook; baby monitor stand; pram handle joint; cot side peg
toy car axle; teether handle; dog toy ball; cat flap hinge chew; parrot perch; baby spoon; cookie stamp; lunch box clip
oven shelf runner; radiator bracket; Schukosteckdose; Lichtschalterrahmen; Gasflaschenventil; Herdknopf; Leitersprosse; Hochbettgeländer
Fahrradpedal; Bremshebel; Motorsägenabdeckung; Kletterhaltegriff; Fahrradhelm; Hörgerät; Brillenscharnier; Rollatorrad; Dampfventil
Rauchmelder; Kinderwagenrad; Beißring; Hundespielzeug; Babylöffel; Backofenrost
"""  # fmt: skip
MORE_HARMLESS = """
bookshelf bracket cover; loudspeaker grille clip; radio knob; clock hand spacer; light shade clip; window stay peg; sash window wedge
blind cord weight; curtain hook; bath mat hook; towel bar end; soap tray foot; shaving brush stand; toothpaste key; comb
hairbrush handle; mirror foot; drawer liner clip; wardrobe rail end; shoe horn; boot tray foot; umbrella stand foot; key rack
letter tray; magazine rack foot; vase stand; plant pot tray; seed tray lid; garden cane top; watering can handle; bird feeder hook
bird box hole plate; fence post cap; gate wheel; garden bench end cap; parasol base plug; washing line hook; peg bag hanger
clothes horse foot; ironing board clip; sewing box tray; bobbin box; button box divider; needle case; wool winder arm
spinning wheel bobbin; quilt clip; picture hook; frame stand; easel pin; paint tray; brush pot; pencil sharpener box; ruler stand
paper clip tray; stamp pad lid; envelope rack; sticky tape holder; calculator foot; keyboard key cap; mouse mat clip; webcam cover
monitor cable clip; laptop hinge cover; tablet corner; phone stand; camera strap ring; lens cap holder; tripod foot; projector foot
film spool; record divider; CD shelf peg; cassette box hinge; radio aerial tip; guitar pick holder; ukulele tuner knob; piano key top
drum stick holder; music stand lip; metronome key; chess board foot; dice tray; card holder; domino rack; puzzle sorter; board game token
jigsaw tray; model tree base; model train bridge; slot car track clip; kite reel; frisbee hook; tent peg bag clip; camp table foot
cool box latch; picnic basket hinge; flask lid gasket ring; bottle opener handle; corkscrew stand; wine glass charm; tray foot; coaster
napkin ring; placemat clip; table number; bread board foot; cheese dome knob; biscuit tin lid; tea caddy lid; coffee tin label
kitchen scale foot; egg timer knob; recipe book stand; cupboard door damper; drawer knob; cabinet door latch; hinge cover; shelf label
pantry rail end; bin pedal pin; mop clip; broom end cap; dustpan hook; bucket handle grip; sponge tray; washing-up bowl foot
sink plug chain clip; tap label; hose end cap; garden tap key hook; water butt lid clip; gutter leaf guard clip; downpipe clip
roof tile spacer; shed hook; tool drawer divider; spanner rack; socket rail; socket set tray; drill stand foot; chisel guard; plane knob
saw handle; file handle; vice pad; workbench dog; clamp foot; sandpaper holder; paint stirrer; tape reel; wire spool; cable tie tray
screw box; nail tray; wall plug box; spirit level cap; tape measure belt clip; tool belt hook; work light stand hook; torch holder
lantern shelf; battery tray; charger stand; adapter label; car tray; glove box divider; boot liner clip; sun visor clip; parking disc
licence plate screw cap; roof box key tag; bicycle bell spring; bike computer mount; pannier hook; bike rack cap; pump clip
skateboard wall hook; ski wall rack; racket grip cap; golf tee; golf ball marker; tennis ball holder; dartboard cabinet hinge
pool cue rack; fishing reel box; fishing rod rest; boat cleat cover; oar rack; compass box; map case clip; binocular case hinge
telescope dust cap; microscope cover; magnifier handle; globe base; flag holder; medal stand; trophy lid; photo cube
candle-free lantern stand; Christmas tree bauble cap; wreath hook; garland clip; egg cup shelf; toy shop sign; Regalbodenhalter
Schrankgriff; Schubladenknopf; Türkeil; Fenstergriffrosette; Vorhanghaken; Rollosteckstift; Jalousiewender; Spiegelhalter; Bilderhaken
Schlüsselbrett; Garderobenstange; Schuhlöffel; Wäscheständerfuß; Bügelbrettfuß; Mülleimerdeckel; Seifenspenderfuß; Handtuchstange
Duschvorhangring; Badregalecke; Blumenkastenhalter; Gartenschlauchwagenrad; Regentonnendeckel; Zaunpfahlkappe; Vogelhausdach
Werkzeughalter; Schraubenkasten; Bohrerständer; Maßbandclip; Pinselhalter; Kabelaufwicklung; Tastaturkappe; Handyhalter; Kamerastativfuß
Notenständer; Gitarrenwandhalter; Schachfigur; Kartenhalter; Modellbahnbrücke; Zeltheringstasche; Kühlboxverschluss; Flaschenöffner
Tablettfuß; Serviettenring; Brotkastenknopf; Keksdosendeckel; Besteckkasten; Gewürzglasetikett; Kleiderbügel; Nähkästchen
sliding door guide; wardrobe door stop; cupboard magnet holder; desk cable hole cap; desk leg cap; table leg glide; table edge corner
lamp foot felt ring; poster rail end; curtain weight; net curtain rod tip; awning crank hook; shutter dog; door chain plate
door viewer cap; letterbox spring; mailbox lock cam; padlock cover; key fob; name badge; luggage label; suitcase corner; backpack buckle
belt buckle; shoe lace tip; glove dryer peg; hat stand knob; scarf ring; jewellery tray; ring sizer; watch stand; wall clock hook
alarm clock foot; thermometer frame; barometer stand; weather vane tail; sundial arm; bird bath foot; hedgehog house roof
insect hotel tube; compost bin lid hinge; rain gauge funnel; planter clip; orchid stake clip; tomato cage joint; hose guide
hose reel bush; wheelbarrow foot cap; rake handle plug; spade grip; trowel hook; lawn edging peg; pond net clip; deck spacer; fence clip
gate stop; shed window catch; garage shelf bracket; pegboard hook; drawer organiser; screw sorter; hex key rack; allen key holder
tap and die box tray; drill guide; dowel jig; marking gauge knob; mitre box foot; sawhorse cap; glue brush holder; paint tube wringer
canvas corner; stencil; rubber stamp handle; bookmark; page holder; magazine clip; newspaper rack; pen tray; eraser holder; chalk holder
whiteboard tray; magnet frame; sticky note tray; cable comb; headset hanger; game cartridge case; controller stand; keyboard riser
printer roller clip; scanner foot; hard disk tray; server rail clip; fan grille clip; speaker stand spike cup; turntable weight
record clamp; tuning peg; bow rosin tin; reed case; drum key; sheet music clip; puppet stand; dollhouse-free shelf; trophy shelf
chess clock button; go stone bowl lid; backgammon cup; marionette bar; aquarium lid clip; terrarium vent; fish tank hose clip
horse stable sign; saddle rack label; feed scoop hook; Tischbein-Gleiter; Schiebetürführung; Kleiderstange; Gürtelschnalle
Kofferanhänger; Wanduhr-Haken; Wetterfahne; Insektenhotel; Kompostdeckel; Gartenzaunclip; Sägebockkappe; Leimpinselhalter; Lesezeichen
Kreidehalter; Controllerhalter; Plattenspielerfuß; Notenklammer; Aquariumdeckelclip; Stallschild; Hammerhalter; Zollstockclip
Pinnwandhaken; Postkorb; Locherwanne; Heftklammerbox; Tesarollenhalter; Fensterputzerhalter; Eimergriff; Besenkappe; Wischmopphalter
Topfuntersetzer; Weinkorkenbox; Flaschenregal; Servierwagenrolle
"""  # fmt: skip


def names_in(text: str) -> list[str]:
    return [name.strip() for line in text.strip().splitlines() for name in line.split(";")]


def harmless() -> list[str]:
    return names_in(HARMLESS) + names_in(MORE_HARMLESS)


@pytest.mark.parametrize("use", DANGEROUS)
def test_each_danger_is_told_by_the_name_alone(use):
    missed = [name for name in DANGEROUS[use] if use not in spotted(name)]
    assert missed == []


def test_a_second_set_of_dangers_is_told():
    names = names_in(MORE_DANGEROUS)
    assert [name for name in names if not spotted(name)] == [] and len(names) >= 190


def test_harmless_names_are_left_in_peace():
    alarms = {name: found for name in harmless() if (found := spotted(name))}
    assert len(harmless()) >= 200
    assert len(alarms) <= 0.02 * len(harmless()), alarms


def test_a_word_is_read_whole_however_it_is_typed():
    assert "fire" in spotted("GAS_TAP")
    assert spotted("GasTap") == spotted("gas tap")
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
    ["bla bla bla", "one two three four", "this is really fine", "I know what I do", "trust me, it is not needed", "not not not not", "nothing will happen with the mains", "just do it now, mains wire bike skin"],
)  # fmt: skip
def test_any_few_words_lift_nothing(rule, statement):
    assert not says_enough(rule, statement)


def test_three_words_are_too_few_and_four_may_do():
    assert not says_enough("mains", "not live wire")
    assert says_enough("mains", "not a live wire")
