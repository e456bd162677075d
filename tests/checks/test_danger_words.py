"""Words of danger: what a name tells of is caught, and what is harmless is left in peace.

Both lists are our own, written before they were tried; nothing outside judges such words.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from workbench.checks.cautions.by_use import cautions
from workbench.checks.cautions.statements import says_enough
from workbench.checks.check import check
from workbench.checks.subject import Subject
from workbench.data import HERE, danger_words
from workbench.data.danger_words import LONG, of_shapes, spotted
from workbench.output.notebook.template_notebook import read_template
from workbench.solids import catalogue
from workbench.solids.recipe.repair import WHOSE, Repair

SHELF = Path(__file__).parents[2] / "templates"

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

#: Seven sets more, each written without a look at the table and tried once before words were added:
#: 91, 81, 90, 91, 88, 96 and 96 % were told then, with 2.0, 1.3, 2.6, 2.4, 4.8, 1.5 and 5 % false
#: alarms, the last among names that sound like a danger; of those only what was told wrongly is here.
FRESH_DANGEROUS = """
extension cable reel plug cap; bedside lamp rocker switch; ceiling rose cover; immersion heater knob; cable junction cover; vacuum cleaner power switch; dimmer knob surround; toaster plug housing; floodlight terminal lid; meter cupboard fuse lid; gas heater tap; gas meter key
boiler pilot knob; stove top burner cap; firewood stove latch; candle lantern base; tea light cup; hot plate handle; frying pan handle; lighter body; brake caliper spacer; handbrake button; bike pedal washer; bicycle stem spacer; moped kickstand pin; car jack pad
tow bar cover pin; gear shift lever; roof rack foot; motorcycle footpeg; ladder hook; scaffold clip; loft hatch stay; trapeze ring; pull-up bar bracket; hoist pulley; climbing wall jug; zip line trolley wheel; tree house bolt cap; engine lifting eye; catheter clip
syringe plunger; mouth guard; bed pan hook; prosthetic finger tip; wheelchair brake knob; rollator wheel; blood pressure cuff clip; contact lens case; nasal spray tip; cot rail clip; teether ring; high chair buckle; nursery drawer catch; rattle ball; child lock; toddler spoon
stroller wheel axle; playpen hinge; baby monitor hook; rabbit chew stick; dog leash swivel; kitten toy mouse; parrot swing; horse bit ring; tortoise feeding bowl; bread mould; juicer cone; salad tongs; coffee tamper; water bottle cap; tap cartridge bush
water main stopcock handle; aerosol nozzle; bike pump hose end; hydraulic hose cap; scuba regulator clip; pressure gauge mount; Mehrfachsteckerdeckel; Schuko-Kupplung; Deckenlampenbaldachin; Fernseher-Netzteilgehäuse; Klingeltrafo-Deckel; Sicherungsautomat-Halter; Heizlüfterknopf
Waschmaschinen-Netzschalter; Abzweigdosendeckel; Stromzählerabdeckung; Gashahngriff; Gasthermenknopf; Ofentürgriff; Teelichthalter; Kochfeldknopf; Bratpfannengriff; Feuerlöscherhalter; Schornsteinklappe; Campingkocherfuß; Bügeleisenfuß; Handbremshebel; Bremszughalter
Tretkurbelkappe; Sattelstützenklemme; Motorradfußraste; Wagenheberklotz; Gurtschloss; Rasenmähermesserscheibe; Lenkradspinne; Mopedständer; Leiterhaken; Dachleiterkloben; Klimmzugstangenhalter; Schaukelkette; Stuhlbein; Treppengeländerhalter; Flaschenzugrolle; Klettersteigring
Krückengummi; Gehstockspitze; Inhalatorkappe; Prothesenclip; Gebissdose; Blutdruckmanschette; Rollstuhlbremse; Gitterbettklammer; Hochstuhlschnalle; Rassel; Kinderlöffel; Steckdosenschutz; Laufgitterscharnier; Buggyrad; Hundeleine; Kauspielzeug; Katzenklappe; Vogelkäfigstange
Eisportionierer; Brotdosendeckel; Trinkbecherdeckel; Nudelholzgriff; Wasserhahnoberteil; Druckminderer; Gartenpumpenkupplung; Luftgewehrkolben; Skihelmschnalle; Fahrradhelmverschluss; Fenstersicherung; Panikschlossdrücker; GFCI outlet frame; three-way switch lever
lamp harp socket knob; string light plug cap; garbage disposal switch button; aquarium heater plug cover; power drill trigger; electric fan blade guard; hallway sconce base; surge strip foot cover; hot water spigot handle; sink shut-off lever; propane hose quick connect
garden hose bib knob; pressure cooker gasket key; carbonator bottle valve; air brush nozzle; tire valve stem; fish tank CO2 regulator knob; shower diverter; crib drop-side bracket; stroller cup arm hinge; toddler bed guard peg; bathtub toy boat; choke-proof bottle nipple ring
playground swing bolt cap; puzzle for a two-year-old; nursery blind cord cleat; kids scooter wheel; outlet baby plug; porch ladder cap; attic stairs spring bracket; barstool footrest end; hammock stand joint; wall-mounted pull up grip; grab bar flange; stair baluster shoe
bed slat end cap; suspended plant hook over the sofa; deck railing clip; gas grill knob; fireplace damper pull; smoke alarm bracket; wood stove air lever; candle snuffer; torch lighter cap; emergency door push plate; fire escape window latch; camping lantern mantle holder
patio heater knob; brake bleed cap; bike crank dust cap; motorbike clutch lever; seat belt button stop; trunk hinge strut end; steering column knob; lawn tractor pedal pad; table saw knob for the blade height; circular saw guard lever; car hood prop clip
insulin pen needle remover; inhaler spacer adapter; walker glide; denture brush holder insert; finger brace; hearing aid hook; nasal rinse cap; cane tip; eyeglasses nose bridge; pill organizer lid; climbing rope bag hook to harness; ski pole basket; kayak foot peg
bow sight bracket; gun safe trigger block; helmet visor screw; life vest clip; dumbbell collar; skateboard truck washer; paintball hopper lid; dog chew stick holder; leash handle; bird cage swing; hamster ball hatch; cat toy wand tip; cookie stamp; popsicle mold; baby spoon
salad server; coffee dripper; Schukodose-Deckel; Lichtschaltertaste; Leuchtenklemme; Föhndüse; Bohrmaschinenschalter; Netzteildeckel; Sicherungsdeckel; Rasiersteckdose; Lampenschnurschalter; Klingeldrahttrafo; Gasventilgriff; Herdschalterknopf; Kaminklappe; Grillgriff
Kerzenteller; Rauchmelderfuß; Ofenklappengriff; Fluchttürklinke; Gaskartuschenadapter; Brennerdüse; Duscharmaturgriff; Heizkörperthermostatkopf; Hahnküken; Druckschlauchtülle; Wasserhahngriff; Kompressorstutzen; Reifenventil; Sprühpistole; Spülkastenventil; Sodaflaschenverschluss
Sprossenleiterfuß; Treppengeländerkappe; Schaukelbrett; Bettlattenkappe; Hängemattenöse; Handlaufende; Barhockerfuß; Stuhllehne; Klimmzuggriff; Deckenhaken für Ampel; Bremshebelkappe; Fahrradsattelklemme; Lenkerendkappe; Gurtschnalle fürs Auto; Kettensägengriff
Kreissägenanschlag; Rasenmähergriff; Anhängerstütze; Motorradspiegel; Kupplungszug; Babybettriegel; Schnullerdose; Kinderstuhlrolle; Treppenschutzklammer; Bauklotz; Puppenwagenrad; Wickelkommodensicherung; Fenstersperre; Greifling; Bobbycar-Achse; Brillengelenk; Krückengriff
Insulinpumpenclip; Zahnspangenbox; Rollatorbremse; Ohrpassform; Atemmaskenschlauch; Pillenteiler; Armschiene; Hörgeräteclip; Kletterhaken; Skischnalle; Tauchflossenriemen; Reithelmclip; Hantelverschluss; Katzenball; Hundekausnack; Vogelnapf; Plätzchenform; Löffelstiel
part for grandma's walking aid; broken lever from the gas cooker; cover for the hole in the fuse board; clip that holds the stair banister; latch for rabbit cage; stop for the upstairs window so the kids can't open it; wheel for the hospital bed; dryer vent heater clip
cap for the mains water shutoff; pin for the tow hitch; bath chair foot; espresso group handle; breast pump flange; pool filter lid; hot tub jet ring; water heater drain knob; air compressor drain plug; soda bottle rocket launcher valve; nail gun tip; airsoft magazine follower
light switch extension for children; plug socket blanking plate; tube light end; desk lamp arm switch; LED driver cover; fan regulator knob; hair straightener hinge; electric blanket controller shell; doorbell chime transformer lid; cooker isolator cover; mtb crank bolt
gear cable stop on a racing cycle; roof rack end lock; child bike seat spacer; mower deck wheel; chainsaw bar cover; pillar drill chuck guard; bandsaw guide block; go-kart throttle stop; scooter folding lever; mezzanine railing peg; bunk ladder hook; treehouse swing bracket
hanging chair ring; garage ceiling rack bracket; tv arm on the wall pin; loft hatch catch; rope hoist cleat; stepping stool pad; crane hook latch; wood burner door catch; oil lamp burner ring; chiminea lid knob; bbq vent tab; stove top knob; oven rack stop; toaster oven handle
pan lid knob; deep fryer basket handle; iron soleplate rest; pacifier holder; teething ring clip; doll house figure; marble run piece; sippy cup valve; high chair tray latch; nappy bin flap; toy kitchen knob; puzzle peg for toddlers; cot mobile arm; dog harness slide; catnip ball
parrot foraging toy; guinea pig tunnel; fish feeder; swim goggles strap clip; boxing headgear clip; archery finger tab; crampon strap keeper; belay plate spring; surfboard fin plug; kayak seat clip; inline skate brake pad; hockey mask clip; cpap mask elbow; splint strap ring
contact lens tweezer; ear mold tip; dental floss holder; tablet crusher; eyepatch frame; stoma bag clip; glucose meter lid; wheelchair joystick cap; cake topper; garlic press insert; spice grinder knob; ice cube mold; honey dipper; bottle stopper; pasta drying rod
egg slicer frame; tea strainer rim; cocktail stick; Deckel fur Sicherungskasten; Griff vom Gasherd; Halter der Treppenstange; Riegel am Kinderbett; Teil vom Rollator; Kappe fuer den Wasserhahn; Hebel der Handbremse; Knopf am Heizlufter; Rad vom Rollstuhl
Halterung fuer Rauchmelder; Steckdosenblende; Steckdsoenabdeckung; Lichtschalterramen; Kabeldurchfuhrung 230V; Kronleuchterhaken; Ofenschalter; Dunstabzugsknopf; Mikrowellengriff; Stehlampenfuss; Trafodeckel; Fahrradkurbel; Mopedgriff; Bremsbacke; Rasentrimmerkopf
Bandsagenfuhrung; Tretrollerachse; Autositzhebel; Dachboxklammer; Anhangerstecker; Kettenspanner; Kaminholzgriff; Gasgrillknopf; Kerzenhalterung; Feuerschalendeckel; Ofenrohrschelle; Schornsteinfegertuerchen; Backofenknopf; Topfdeckelknopf; Pfannenstiel; Waffeleisengriff
Leitersprossenkappe; Hochbettleiter; Schaukelgelenk; Klappstuhlgelenk; Bettrostkappe; Balkongelaender; Hangesesselhaken; Dachfensterstange; Seilrolle zum Heben; Toilettensitzgriff; Inhaliergerat; Zahnschienendose; Ohrstopsel; Brillenbugel; Krueckenkappe; Spritzenhalter
Pillenspender; Blutzuckergeraet; Handgelenkstutze; Nasendusche; Beissring; Spielzeugeisenbahn; Puppenarm; Kinderwagenbremse; Herdgitter; Schubladenschloss fuers Kind; Hundeleinenring; Katzenbaumstift; Meerschweinchenhaus; Papageienspielzeug; Kletterwandgriff; Helmpolster
Karabinersperre; Skistocktelle; Schwimmbrille; Boxhandschuhschnalle; Kajaksitz; Bogenvisier; Tauchmaske; Rollschuhstopper; Heizkorperventil; Dampfreinigerduse; Druckspruher; Schlauchanschluss am Hahn; Gasflaschenregler; Espressokannengriff; Ventilkopf; Wasserpumpenrad
Eiswurfelform; Brotdosenklipp; Backpinselgriff; Suppenkelle; Eierloffel; wall charger shell; three-phase plug clamp; kitchen extractor switch; cellar light pull; hairdryer grille; lamp dimmer wheel; socket tester cover; cooker terminal cover; fridge compressor relay cover
shed power point lid; outdoor lamp seal; washing machine door interlock; dishwasher element clip; power tool battery terminal; live terminal shield; gas isolator lever; oven hinge pin; wood stove door knob; bottled gas clamp; fire door closer arm; smoke hatch lever
barbecue wheel axle; oil heater foot; match holder; chimney cap spacer; hob pan support foot; incense burner; fire blanket hook; blow lamp stand; bicycle seat bolt cap; car jack handle; brake lever pivot; trailer light bracket; steering lock cap; motorbike stand foot
wheel nut cover; accelerator pedal pad; handlebar bung; mower handle knob; strimmer spool; saw guard spring; wood chipper chute; winch handle; hitch cover; ladder rubber foot; step stool tread; stair rod clip; bath grab handle; hand rail end; swing bearing; hammock spreader
climbing grip; rope pulley for lifting; chair castor; bed slat cap; toilet raiser clip; crutch handle; walking frame glide; wheelchair spoke guard; denture box; hearing aid cover; glasses leg; asthma spacer; pill crusher; dialysis clamp; catheter hook; knee support clip
nose clip; earring back; toy truck wheel; cot screw cap; baby bottle cap; child gate latch; window restrictor hook; teething toy; pushchair clip; rocking horse handle; high chair foot; cupboard child catch; dog bone toy; cat collar buckle; rabbit water bottle; bird perch
horse feed scoop; biscuit cutter; drinking cup lid; juice press; ice lolly stick; meat tenderiser; cheese grater handle; pressure cooker knob; air hose connector; water pipe clip; boiler knob; tap handle; radiator valve cap; sprinkler head; gas cylinder cap; fire hose nozzle
steam cleaner nozzle; ski helmet clip; riding stirrup; bike helmet strap; climbing harness buckle; diving mask frame; rifle stock pad; trampoline spring hook; punch bag ring; dumbbell clip; kite bar end; Herddrehknopf; Steckdosenrahmen; Stromkastendeckel; Lampenschalter
Ladegerätgehäuse; Kabelmuffe; Klingeltrafo; Waschmaschinentürschloss; Wandlampensockel; Verteilerkastenriegel; Backofenscharnier; Gasfeuerzeug; Brandschutztürkeil; Rauchklappe; Grillrad; Kerzenlöscher; Sattelklemme; Wagenheberkurbel; Bremspedal; Motorradständer; Radmutterkappe
Lenkergriff; Mähergriff; Sägeschutz; Seilwindenkurbel; Anhängerkupplungskappe; Trittleiterfuß; Treppenstange; Badewannengriff; Schaukellager; Kletterseilklemme; Stuhlrolle; Gehhilfengleiter; Rollstuhlspeichenschutz; Zahnprothesendose; Hörgerätehaken; Brillenbein; Tablettenmörser
Kniestütze; Nasenklemme; Ohrringverschluss; Spielzeuglastwagen; Babyflaschenkappe; Treppengitterriegel; Fensterriegel mit Kindersicherung; Kinderwagenclip; Schaukelpferdgriff; Hundeknochen; Katzenhalsband; Kaninchentränke; Vogelstange; Keksausstecher; Saftpresse; Fleischklopfer
Käsereibe; Schnellkochtopfknauf; Druckluftschlauch; Wasserrohrschelle; Wasserhahnhebel; Heizungsventilkappe; Dampfreiniger; Skihelm; Steigbügel; Klettergurt; Taucherbrille; Gewehrschaft; Trampolinfeder; Boxsackring; Hantelclip; bathroom fan pull switch; sewing lamp plug
cordless kettle base contact cover; caravan hookup cover; cooker hood lamp lens; electric gate box lid; hot water cylinder thermostat cap; greenhouse heater socket lid; workshop lathe switch lever; neon sign holder; solder station knob; rice cooker latch; gas stove igniter button
boiler door clip; flue terminal guard; log burner handle; storm lantern burner knob; fire alarm call point cover; pizza oven chimney cap; cigarette case spring; hob simmer ring foot; bike saddle clamp; cycle trailer hitch; car bonnet catch; mobility scooter basket bolt
hedge trimmer guard; mower throttle lever; brake cable end; ski rack lock; seat belt comfort clip; horn button of a car; tractor gear knob; motorhome step; extension ladder stop; baby swing hook; rope swing toggle; deck chair hinge; garden bench arm; bath step foot
hand rail bracket; climbing frame bolt cap; lifting handle for a hoist; folding stool hinge; bunk bed peg; garage door cable clip; hearing aid dryer; spectacle hinge; pill dispenser wheel; wrist brace stay; toilet frame foot; blood sugar lancet cap; mouth piece; nose pad
toe separator; oxygen tube hook; teether; pushchair handle; baby bath plug; stair gate bolt; doll limb; toy helicopter blade; drawer child lock; cot leg; kids bike pedal; cat flap pin; hamster cage door; dog whistle; budgie perch; pony halter ring; pasta cutter; egg poacher cup
milk frother tip; salt mill; cake ring; juicer spout; lunchbox latch; tap spout; shower valve knob; radiator bleed knob; compressor filter bowl; hose burst clamp; pressure sprayer handle; soda syphon cap; toilet inlet valve float; climbing shoe buckle; cycling helmet dial
rowing machine handle; shotgun cleaning rod; boxing ring pad clip; snorkel clip; ice skate guard; Badlüfterschalter; Nählampenstecker; Wasserkocherkontakt; Wohnwagenstecker; Dunstabzugslampe; Leuchtröhrenhalter; Boilerthermostat; Klingelknopf mit 230 V; Lötstationknopf
Sicherungsschrauber; Gasherdzünder; Kesseltürclip; Kamintürgriff; Petroleumlampenknopf; Brandmelderabdeckung; Kerzengießform; Zigarettenetui; Ofenfuß; Sattelschelle; Autohaubenriegel; Heckenscherenschutz; Gashebel am Mäher; Bremszugende; Gurtclip; Traktorschaltknauf
Treppenleiterhaken; Ausziehleiter; Schaukelknebel; Gartenbanklehne; Badestufe; Handlaufhalter; Klappstuhlscharnier; Etagenbettstift; Garagentorseilclip; Brillenscharnier; Pillendrehrad; Handschiene; Toilettenstütze; Stechhilfenkappe; Mundstück; Zehenspreizer
Sauerstoffschlauchhaken; Kinderwagengriff; Gitterbettfuß; Puppenbein; Spielhubschrauber; Schubladenkindersicherung; Katzenklappenstift; Hamsterkäfigtür; Hundepfeife; Ponyhalfter; Nudelschneider; Milchschäumer; Salzmühle; Tortenring; Entsafter; Wasserhahnauslauf; Duschventil
Entlüftungsschlüssel; Kompressorfilter; Druckspritze; Kletterschuhschnalle; Radhelmdrehrad; Rudergerätegriff; Rettungsring; Flintenputzstock; Schnorchelclip; Schlittschuhschoner; wall light switch cover; mains plug case; kettle switch; extension socket cap; bathroom heater knob
lamp wire clamp; fuse box door; electric oven knob; doorbell transformer cover; hob igniter cap; gas fire control knob; gas pipe clip; candle stand; fireplace screen foot; smoke alarm cover; fire door hinge; bicycle brake handle; car seat lever; pedal strap; trailer jack handle
chainsaw guard; mower blade cover; scooter wheel; ladder step; stair handrail end; swing chain clip; bunk bed ladder hook; stool leg cap; climbing rope hook; ski boot clip; bike helmet clip; diving mask buckle; kayak paddle clip; crutch foot; wheelchair wheel cap
hearing aid case; glasses nose pad; finger splint; pill box; baby gate catch; cot wheel; pram hook; teething ring; toy train axle; toddler cup lid; dog chew; cat collar clasp; bird cage latch; pressure cooker lid lock; water pipe plug; garden tap washer; compressor knob
boiler valve; coffee machine steam knob; cake mould; drinking straw; spoon; oven door knob; saucepan lid knob; radiator clip; Lichtschalterrahmen; Steckergehäuse; Wasserkocherschalter; Verlängerungsdose; Badheizungsknopf; Lampenkabelklemme; Sicherungskastentür; Elektroherdknopf
Klingeltrafodeckel; Herdzünderkappe; Gasofenknopf; Gasrohrclip; Kerzenständer; Kamingitterfuß; Rauchmelderdeckel; Brandschutztürscharnier; Fahrradbremsgriff; Pedalriemen; Anhängerstützrad; Kettensägenschutz; Mähmesserabdeckung; Rollerrad; Leiterstufe; Schaukelkettenclip
Hochbettleiterhaken; Hockerbein; Kletterseilhaken; Skischuhclip; Radhelmclip; Taucherbrillenschnalle; Kajakpaddel; Krückenfuß; Rollstuhlradkappe; Hörgerätebox; Nasenpad; Fingerschiene; Pillendose; Türgitter fürs Baby; Kinderbettrolle; Kinderwagenhaken; Beißring; Spielzeugzugachse
Kinderbecherdeckel; Kauknochen; Katzenhalsbandschnalle; Vogelkäfigriegel; Schnellkochtopfriegel; Wasserrohrstopfen; Gartenhahndichtung; Kompressorknopf; Kesselventil; Dampfhahnknopf; Kuchenform; Trinkhalm; Löffel; Ofentürknopf; Topfdeckelknauf; Heizkörperclip
light switch back box; 230 V junction lid; lamp holder collar; plug top cable grip; extension lead housing; consumer unit blanking plate; immersion heater terminal cover; fairy lights transformer case; doorbell mains adapter shell; dimmer knob shaft; phone charger casing
terminal block guard; boiler flap hinge; cooker hob pan rest foot; propane bottle regulator cap; butane camping stove knob; gas meter box latch; pilot light window frame; wood stove door handle; chimney cowl clip; barbecue lid grip; smoke alarm base
fire extinguisher bracket; candle stick insert; oven door handle end; toaster lever; iron rest heel; hair dryer nozzle; kettle lid hinge; radiator valve head; coffee machine drip funnel; ice cube scoop; cookie cutter; blender jar gasket; salad spinner knob
feeding bottle ring; chopping board foot; bike brake lever spacer; handlebar end plug; pedal pin; seat post shim; car jack pad; towbar cover; wheel nut cap; motorcycle foot peg; child seat buckle; cot side rail clip; pushchair wheel hub; dummy clip; rattle handle
marble run piece; crutch tip; wheelchair armrest pad; inhaler cap; glasses nose pad; splint for finger; carabiner gate; step stool foot; stair rod end; climbing wall bolt hanger; kayak paddle joint; ski boot buckle; trampoline leg sleeve; swing seat hook; ladder foot
loft ladder hinge pin; compressor hose fitting; pressure cooker weight; soda siphon nozzle; bicycle pump head; dog lead clip; cat flap catch; hamster wheel axle; stair gate latch; window restrictor arm; helmet strap clip; bath grab rail end
cable junction lid for the lamp; socket extender frame; hairdryer filter ring; oil lamp collar; wood burner vent knob; gas fire control knob; stove top burner knob; grill starter button; fuel can spout; pram brake pedal; trike handlebar plug; brake cable stop
gear shifter cover; motorbike mirror stem; roof rack foot; harness buckle; abseil ring; surfboard fin screw; crash helmet visor pivot; skate wheel spacer; knee brace hinge; hearing aid tube; pill cutter; nebuliser mask clip; contact lens remover; nose ring
bed rail bracket; attic ladder spring arm; shower seat leg; pressure washer trigger; air compressor knob; water filter wrench; coffee grinder hopper; sippy cup valve; pasta press die; baby monitor mount; playpen hinge; toy train coupling; puppy chew ring; parrot perch
horse bit ring; Lichtschalterrahmen; Steckdosenblende; Verteilerdose Deckel; Lampenfassung Ring; Kabeltrommel Griff; Netzteilgehäuse; Dimmerknopf; Lüsterklemme Abdeckung; Sicherungskasten Klappe; Gasherdknopf; Gasflasche Kappe; Campingkocher Fuß; Thermenverkleidung Clip
Ofentürgriff; Kaminbesteck Halter; Grillrost Griff; Kerzenhalter; Rauchmelder Sockel; Backofen Drehknopf; Föhn Düse; Wasserkocher Deckelscharnier; Heizkörper Ventilkappe; Ausstechform Stern; Brotdose Verschluss; Kaffeemühle Trichter; Mixbecher Dichtring
Fahrradbremse Abstandsring; Lenkerstopfen; Sattelstütze Hülse; Anhängerkupplung Kappe; Kindersitz Gurtführung; Babybett Gitterclip; Schnullerkette Glied; Bauklotz; Krücke Gummifuß; Brillensteg; Klettergriff; Trittleiter Fuß; Hundeleine Haken; Leitersprosse
Karabiner Ersatz; Schaukelhaken; Trampolin Fußkappe; Dampfkochtopf Ventil; Druckluftkupplung; Luftpumpenkopf; Katzenklappe Riegel; Hamsterrad Achse; Treppenschutzgitter Clip; Rollatorgriff; Pillendose Deckel; Autoscheibenwischer Clip; Radkappe; Helmschnalle
Skibindung Hebel; Treppengeländer Endkappe; Fenstersicherung Bügel; Steckerleiste Schalter; Deckenlampe Baldachin; Backofenlampe Abdeckung; Ölofen Regler; Gaskamin Knopf; Kaminofen Griff; Grillanzünder Taste; Benzinkanister Tülle; Kinderwagen Bremse; Dreirad Lenker
Bremszug Anschlag; Schaltgriff Abdeckung; Motorradspiegel Schaft; Dachträgerfuß; Klettergurt Schnalle; Abseilring; Surfbrett Finne; Helmvisier Lager; Inliner Rolle; Knieorthese Gelenk; Hörgerät Schlauch; Tablettenteiler; Inhalator Maske; Kontaktlinsenheber
Zahnspangendose; Nasenring; Bettgitter Halter; Dachbodentreppe Feder; Duschhocker Fuß; Hochdruckreiniger Abzug; Kompressor Knopf; Wasserfilter Schlüssel; Trinklerntasse Ventil; Nudelpresse Scheibe; Laufstall Scharnier; Spielzeugbahn Kupplung; Welpe Kauring
Papageienstange; Trense Ring
Kabeldose Deckel; Kappe für blanke Drähte; Deckel für den Kühler am Motor; Teil vom Atemregler; Griff vom Schnabelbecher; Deckel fürs Marmeladenglas
Schiene für den Finger; Messerhalter vom Rasenmäher; holder for the hot iron; Zählerkasten Schloss; Fackelhalter; Ethanolkamin Schieber
Löschdecke Kasten Haken; Lockenstab Halter; Apfelentkerner; Spurplatte; mezzanine bracket; paddle shaft joint; electric toothbrush charger base
spark coil cover; assault course rope clip; operating table arm; teaspoon; automatic choke lever; whipped cream siphon; buffing wheel guard
inhaler holder cap; ice maker flap; snow plow blade bolt; sawmill guard; athletic cup; Wagenheberkissen; Schmortopf Knopf; Tiefschutz; iron heel
rear view mirror arm; clinical thermometer cap; meat hook; jumper cable clamp; abseiling hook; bungee hook; mixer hook; salt mill wheel
Heizkissen Schalter; regulator of the diving set; ski mask clip; brother's gas tap; rail for the side of the bunk bed; hook above the bed
anti-tip bracket; trapdoor hinge; arthritis jar aid; skillet handle; loveseat leg; party balloon pump; steak knife handle; Küchenmesser Griff
Kippsicherung Schrank; Falltür Scharnier; Türgitter Riegel; Kugelbahn Stück; Hebelschneider Schutz; Rohrverbinder; Mokkakanne Griff; Schwebebalken Fuß
cover for the broken light switch; ring that holds the ceiling lamp; lid of the junction box; plug for the vacuum cable; holder of the bulb
cap on live wires; socket for the washing machine; knob of the dimmer; part for the gas cooker; catch on the stove door; hose clip for the gas fire
cap for the chimney; bracket of the smoke alarm; cover for the pilot light; lantern for real candles; lever for the fire damper
nozzle for the camping gas; handle of the frying pan; knob on the oven; shade right at the halogen lamp; feet of the toaster; handle for the moka pot
rung of a ladder; tread of the stairs; bracket for a swing; hook for the punch bag; clip of the stair gate; arm of the office chair; seat of the stool
wedge under the scaffold; anchor of a hammock; bolt for the bunk bed; buckle of a climbing harness; hold for the climbing wall; strap of the ski boot
wheel for inline skates; clip of the bike helmet; part of a diving regulator; toy for the baby; wheel of the pram; latch on the playpen
clip of the child seat; bars for the cot; spinning top for children; handle of a sippy cup; mould for chocolate; scoop for flour; cup for drinking
stopper for wine; lid for the jam jar; tip for the crutch; pill box lid; holder for the insulin pen needle; arm of the wheelchair; lever for the brake
crank for the pedal; Deckel der Abzweigdose; Ring für die Deckenlampe; Abdeckung vom Lichtschalter; Gehäuse für den Netzstecker; Halter der Glühbirne
Knopf am Dimmer; Klemme für Starkstrom; Teil vom Gasherd; Griff der Ofenklappe; Schelle am Abgasrohr; Deckel vom Feuerzeug
Halter für den Rauchwarnmelder; Laterne für echte Kerzen; Brennerring; Griff am Holzofen; Dichtung der Propangasflasche; Hebel der Brandschutztür
Griff vom Kochtopf; Knopf am Backofen; Fuß vom Waffeleisen; Halter am Auspuff; Ablage für den Lötkolben; Sprosse der Leiter; Stufe der Treppe
Haken für die Schaukel; Halter fürs Geländer; Armlehne vom Bürostuhl; Bein vom Hocker; Winkel am Etagenbett; Haken für den Boxsack; Öse der Hängematte
Keil unterm Gerüst; Schnalle am Klettergurt; Griff für die Kletterwand; Schnalle vom Skischuh; Clip am Fahrradhelm; Achse der Rollschuhe
Spielzeug fürs Baby; Rad vom Kinderwagen; Riegel am Laufgitter; Schnalle vom Kindersitz; Gitterstab fürs Kinderbett; Kreisel für Kinder
Form für Pralinen; Schaufel für Mehl; Becher zum Trinken; Korken für den Wein; Fuß der Gehhilfe; Armlehne vom Rollstuhl; Hebel der Bremse
Kurbel fürs Pedal; Haube der Tischkreissäge; Kappe der Anhängerkupplung; Ventil vom Dampfkochtopf; Nippel für den Druckluftschlauch
Sicherheitsventil vom Boiler; Knochen zum Kauen für den Hund; light bulb socket ring; wall socket plate; extension lead box; fuse holder
mains switch knob; lamp cord clamp; electric heater foot; power strip cover; ceiling lamp hook; gas tap; gas stove knob; camping gas hose clip
fireplace screen leg; smoke alarm holder; candle holder; barbecue grill foot; oil lamp knob; fire door stop; saucepan knob; radiator knob
dishwasher spray arm; hammock hook; chair leg; stair rail end; stool leg bracket; office chair wheel; scaffold foot; tree house bracket; climbing hold
life jacket clip; cot rail bracket; pram wheel; baby bottle ring; dummy chain clip; toy car axle; stair gate hinge; cutting board foot; ice cube tray
wine stopper; hearing aid door; glasses arm; dental splint; car seat buckle; steering wheel cap; chainsaw cover; table saw guard
air compressor fitting; water heater valve; dog collar buckle
surgical tray; crankshaft pulley; cleaver handle; wedding band; Balkenschuh; Tandem Kurbel; Neonröhre Klammer; Bettsofa Bein; Trapez Ring
Heckklappe Schloss; Windrad Flügel; Kurbelwelle Rad; Pressluft Schlauch; Doppelbett Verbinder; heart lung machine clip; parer blade
outside mirror arm; cane foot; Zündflamme Abdeckung; Grillkohle Lüftung; Zapfpistole; Bratenthermometer Clip; muffler hanger; demister hose
denture case lid; piston ring tool; nose bag strap for the horse; electric organ plug; sand blaster nozzle; neon sign stand; headrest pin
Kopfstütze Hülse; squat rack pin; leaf spring bush
coffee mill drawer; ambulance stretcher pin; firing pin; artificial joint; pizza cutter wheel; insulin needle cap; rocker of the cradle
lifting platform pin; overhead rack bracket; gym pulley; baby walker wheel; walker foot; suspension bush
paddle grip; catalytic converter shield; tongue depressor; false teeth box
"""  # fmt: skip
FRESH_HARMLESS = """
drawer divider; cupboard shelf stud; bookshelf peg; wardrobe rail socket; coat rack peg; dressing table knob; bureau handle; bedside table foot; ottoman glide; sideboard hinge cover; roller blind chain weight; pleated blind clip; curtain tieback; cornice bracket cap; pelmet clip
sash lift; window wedge; shutter catch; fly screen plunger; skylight pole end; shower screen strip end; toilet seat buffer; cistern lid knob; loo brush holder; towel ring rosette; soap pump spacer; bath caddy end; toothbrush stand; mirror clip; washing basket handle
peg basket hook; ironing board foot cap; clothes airer joint; laundry sorter clip; lint filter frame; sock drier peg; boot jack pad; shoe shelf end; umbrella stand tray; jam jar label; spice shelf stop; cutlery slot; dish brush hook; tea towel rail end; pan lid rack
cookbook stand; kitchen roll holder; bin liner clip; egg timer stand; cupboard bumper; drawer front spacer; kickboard clip; plinth foot; worktop end cap; hinge plate; magnet catch; towel drawer rail; larder rack end; recycling bin lid; remote holder; tv stand cable clip
soundbar wedge; cd drawer gear; radio dial; headphone pad ring; amp foot; aerial cap; games console feet; cartridge tray; keyboard foot; mouse wheel; pen tube; pencil cup; ruler guide; hole punch bin; stapler base; folder label; desk grommet; monitor riser foot
printer tray catch; paper guide; scanner lid hinge; webcam shutter; laptop stand hook; usb hub clip; hard drive sled; card reader cap; stylus holder; tablet sleeve button; sewing box hinge; thread rack peg; bobbin clip; yarn bowl; needle threader; quilting ruler handle
button blank; zip pull; loom heddle; lace bobbin; guitar stand pad; violin mute; piano foot cup; drum wing nut; mic clip; music desk lip; reed box; plectrum; flute rod end; harmonica case hinge; chess knight; draughts piece; dice cup; card shoe; puzzle frame corner
board game box insert; domino stand; dart flight; billiard chalk holder; table tennis net clip; garden tool rack; plant pot saucer; seed drill wheel; cane cap; hose hanger; sprinkler stake; rake ferrule; trug handle; cloche clip; bird table roof; greenhouse shelf clip
water butt stand foot; compost scoop; lawn edging peg; fence panel clip; gate wheel cap; shed hook; trellis spacer; parasol crank; sun lounger foot cap; tent pole tip; awning peg; rucksack clip; camping table clip; cool box latch; map case hook; compass lid; kite spreader
fishing float; binocular cap; suitcase wheel cover; luggage tag; briefcase latch; purse clasp; watch stand; cufflink tray; tie hanger; hat peg; belt keeper; picture hook; photo frame stand; canvas wedge; easel wing nut; brush holder; palette clip; ink bottle stand; stamp handle
book press foot; bookmark; paint roller end; masking tape holder; filler knife rack; sanding block; drill bit tray; screwdriver stand; hammer holder; tape measure hook; level end cap; toolbox latch; clamp pad; vice jaw; dowel gauge; mitre stop; plane tote; marking gauge
workbench dog; bench hook; saw rack; glue bottle cap; spacer; washer; grommet; bushing; hub cap for a tea trolley; lever; knob; tab; block; cap; Schubladenstopper; Schrankboden-Stift; Regalwinkelkappe; Kleiderstangenlager; Hutablage; Nachttischfuß; Kommodengriff; Sofafuß-Gleiter
Vitrinenknopf; Scharnierabdeckung; Vorhangschiene-Endkappe; Raffrollo-Klammer; Fensterkeil; Fliegengitterecke; Rollokette; Gardinenstange; Jalousieknopf; Markisenkurbel; Fensterladenhalter; Plissee-Spanner; Duschstangenende; Toilettendeckelpuffer; Spülkastenknopf
Klobürstenhalter; Handtuchring; Seifenspender; Badewannenablage; Zahnbürstenbecher; Spiegelschrankhalter; Wäschekorbgriff; Wäscheständergelenk; Bügelbrettkappe; Klammerkorbhaken; Flusensiebrahmen; Schuhregalende; Schirmständer; Staubsaugerdüse; Besenstielkappe; Kehrschaufelhaken
Putzeimergriff; Marmeladenetikett; Gewürzbordende; Besteckfach; Küchenrollenhalter; Topfdeckelhalter; Müllbeutelclip; Kochbuchständer; Sockelleistenclip; Arbeitsplattenkappe; Möbelmagnet; Fernbedienungsdeckel; Batteriefachdeckel; Lautsprecherständer; Radioknopf; Antennenkappe
Kabelhalter; Plattenspielerhaube; Kassettenfach; Kopfhörerbügel; Spielekonsolenfuß; Tastenkappe; Mauspad-Clip; Stiftebecher; Linealführung; Locherboden; Hefterfeder; Ordnerrücken; Schreibtischfuß; Kabeldurchführung; Monitorständer; Papierfach; Scannerdeckel; Laptopständer
Kartenleser; Stativplatte; Objektivdeckel; Kameragriff; Filmdose; Diarahmen; Fernglaskappe; Nähmaschinenfuß; Garnrollenhalter; Knopf; Reißverschlussschieber; Stricknadelkappe; Webschiffchen; Stickrahmenschraube; Wollwickler; Fingerhutständer; Schneiderkreidehalter
Gitarrenständer; Geigenstütze; Klavierfuß; Notenpult; Mundharmonikaetui; Trommelschraube; Metronompendel; Plektrum; Saitenkurbel; Flötenständer; Schachspringer; Würfelbecher; Spielsteinablage; Puzzlerahmen; Kartenmischer; Dartpfeilhalter; Tischtennisnetzklemme; Billardkreide
Kegelständer; Gießkannenbrause; Blumentopfuntersetzer; Pflanzenschild; Rosenbogenclip; Schlauchhalter; Rechenkeil; Gartenstuhlkappe; Regenrinnenhalter; Komposteimer; Nistkastenboden; Gewächshausclip; Zaunkappe; Torrolle; Schuppenriegel; Sonnenschirmkurbel; Sonnenschirmfuß
Teichnetzclip; Beetkante; Rankgitterhalter; Futterhausdach; Zeltstangenspitze; Vorzelthaken; Rucksackclip; Klapptischfuß; Kühlboxgriff; Kartentasche; Drachenverbinder; Angelschwimmer; Kofferrad; Gepäckanhänger; Bilderhaken; Fotorahmen; Keilrahmenkeil; Staffeleifuß; Pinselbecher
Farbpalette; Tintenglasständer; Stempelgriff; Buchpresse; Lesezeichen; Farbrollerkappe; Klebebandrolle; Schleifklotz; Bohrerkasten; Schraubendreherhalter; Hammerhaken; Wasserwaagenkappe; Werkzeugkistenriegel; Schraubzwingenbacke; Hobelgriff; Briefkastenschloss-Kappe
Hausnummernschild; Klingelschild; Türspion-Abdeckung; Türkeil; Garderobenhaken; Schlüsselanhänger; Namensschild; Fußmattenrahmen; Türknauf; Uhrzeiger; Pendelgewicht; Weckerfuß; Thermometerhalter; Barometerfuß; Globusständer; Mikroskopkappe; Lupenhalter; Vasenständer
Autofußmattenclip; Becherhalter; Kennzeichenhalter; Parkscheibe; Handschuhfachriegel; Kofferraumhaken; Sonnenblendenclip; Eiskratzerhalter; Dachboxschlüssel; Scheibenwischerkappe; Ring; Scheibe; Hülse; Winkel; Griff; Hebel; Kappe; Platte; Lasche; Steg; shelf pin; closet rod end
closet door guide; sliding closet roller; bifold door pivot cap; sock drawer insert; dresser drawer stop; bookcase foot; nightstand leg leveler; file cabinet key tag; window crank knob; window screen tab; mini blind wand hook; vertical blind tab; curtain finial; drapery ring
valance clip; cafe rod bracket; shade pull; storm window clip; towel bar post; toilet paper spindle; shower curtain hook; soap tray; toothpaste squeezer; bathtub drain cover; cup dispenser; toilet bolt cap; bath shelf corner; vanity drawer spacer; refrigerator shelf clip
crisper drawer handle; freezer basket end; pantry label; spice rack peg; paper towel arm; trash can pedal pin; cabinet bumper; lazy susan roller; cookbook holder; vacuum brush end cap; vacuum hose clip; mop head clip; dustpan lip; broom hanger; laundry hamper hinge; clothespin
drying rack joint; ironing board hook; lint brush handle; tv remote door; speaker grill peg; dvd tray gear; phone stand; tablet easel; charger cord clip; desk cable tray; keyboard tilt foot; mouse scroll wheel; laptop hinge cap; pencil sharpener lid; tape core; stapler foot
binder spine label; letter tray; paper clip cup; bulletin board pin; whiteboard marker tray; label maker door; garden stake top; tomato clip; hose guide roller; planter drain saucer; trellis joint; bird bath foot; mailbox flag; house number; fence post cap; gate handle
rake connector; shovel grip; wheelbarrow handle end; tool peg; pegboard bin; paint can hook; paint tray clip; caulk tube cap; brush comb; socket organizer; wrench rack; screwdriver rail; tape measure clip; clamp jaw pad; router template ring; dowel center; drill depth collar
bit index; tent stake puller; awning clip; cooler latch; cooler hinge; camp lantern hanger; backpack strap slider; sleeping pad patch box; fishing lure box; tackle tray divider; rod rest; luggage handle cap; suitcase wheel; garment bag hook; belt hanger; shoe tree; tie rack
hat form; jewelry box foot; watch winder cushion; umbrella ferrule; guitar knob; amp corner; drum stand foot; music stand clip; clarinet thumb rest; violin peg; metronome door; record brush; chess pawn; board game insert; dice tower; card tray; poker chip rack; domino set box
jigsaw tray; dart board ring; pool cue clip; ping pong net post; picture hanger; frame corner; easel peg; canvas clip; display stand; trophy plate; snow globe base; clock foot; clock pendulum bob; thermometer backing; license plate frame; sun visor clip; cup holder insert
glove box latch; floor mat hook; parking pass holder; key fob shell; trunk organizer divider; phone vent clip; coat hook for the back row; sewing machine knob; bobbin tray; thread cone adapter; seam guide; quilting template; button; toggle; buckle for a bag; zipper pull
embroidery hoop nut; door stop; door wedge; door knob rosette; strike plate shim; hinge shim; door chime cover; peephole cover; key hook; coat rack end; doormat clip; foot; plug for a table leg; glide; clip; bracket for a poster; Einlegebodenhalter; Kleiderbügelhaken
Schranktürdämpfer; Schubladenführung; Möbelknopf; Tischbeinkappe; Regalstift; Schuhschrankklappe; Truhenscharnier; Spiegelfuß; Gardinenring; Vorhangstangenkugel; Rollokurbel; Rolladenstopper; Fenstergriff; Insektenschutzrahmen; Lamellenhalter; Jalousiestab; Fensterbankkappe
Raffhalter; Duschvorhangöse; Klopapierrolle; Seifenablage; Zahnputzbecherhalter; Abflusssieb; Badschrankfuß; Handtuchhaken; WC-Bürstengriff; Wannenrandablage; Kosmetikbox; Kühlschrankfach; Gefrierschublade; Vorratsregal; Gewürzregal; Mülleimerdeckel; Schrankscharnier
Besteckschublade; Backblechregal; Spülbürstenhalter; Küchenwaage-Fuß; Staubsaugerbürste; Saugerschlauchclip; Wischmoppklammer; Besenhaken; Wäschekorb; Wäscheklammer; Bügelbretthaken; Fusselrolle; Eimerhenkel; Fensterabzieher; Fernbedienungsfach; Boxenfuß; DVD-Schublade
Handyständer; Tabletstütze; Ladekabelclip; Kabelkanalecke; Tastaturfuß; Mausrad; Notebookscharnier; Anspitzerdeckel; Klebebandabroller; Heftgerätfuß; Ordneretikett; Briefablage; Büroklammerdose; Pinnnadel; Stifthalter; Aktenreiter; Etikettendrucker; Pflanzstab; Tomatenclip
Schlauchführung; Topfuntersetzer; Rankgitterknoten; Vogelbadfuß; Briefkastenfahne; Hausnummer; Zaunpfostenkappe; Torgriff; Rechenstiel; Spatengriff; Schubkarrengriff; Werkzeughaken; Lochwandbox; Farbeimerhaken; Pinselkamm; Schleifpapierhalter; Kartuschendeckel; Malerband
Nusskasten; Schlüsselleiste; Dübelbox; Zollstockhalter; Zwingenbacke; Bohrtiefenring; Bitleiste; Maulschlüsselhalter; Feilengriff; Stechbeitelschutz; Heringzieher; Zelthaken; Kühlboxscharnier; Rucksackschieber; Angelkasten; Rutenhalter; Wanderkarte; Fernglasriemen; Kompassdeckel
Koffergriff; Kofferrolle; Gürtelhalter; Schuhspanner; Krawattenhalter; Hutform; Schmuckkasten; Uhrenkissen; Schirmspitze; Geldbörsenknopf; Gitarrenknopf; Verstärkerecke; Trommelfuß; Notenständerklemme; Klavierdeckelstütze; Klarinettenhalter; Geigenwirbel; Mikrofonklemme
Metronomtür; Schallplattenbürste; Bauer im Schach; Spieleinsatz; Würfelturm; Kartenablage; Chipständer; Dominokasten; Puzzleablage; Dartscheibenring; Queuehalter; Kegelkugel; Bildaufhänger; Rahmenecke; Staffeleistift; Leinwandklammer; Pokalsockel; Schneekugelfuß; Uhrenfuß; Pendel
Thermometerbrett; Wetterstation; Kennzeichenrahmen; Sonnenblendenklammer; Becherhaltereinsatz; Handschuhfachgriff; Fußmattenhaken; Parkausweishalter; Schlüsselhülle; Kofferraumteiler; Jackenhaken; Ablagefach; Nähmaschinenknopf; Spulenablage; Konenhalter; Nahtführung; Schablone
Knebel; Taschenschnalle; Zipper; Stickrahmenmutter; Fadenführer; Türpuffer; Türgriffrosette; Schließblech-Unterlage; Scharnierausgleich; Klingelabdeckung; Spionabdeckung; Schlüsselboard; Garderobe; Abtreter; Abstandshülse; Buchse; Fuß; Stopfen für ein Tischbein; Gleiter; Tülle
Klammer; Posterleiste; broken corner of the letter tray; replacement foot for the sideboard; clip of the roller blind; knob from the old radio; little wheel under the drawer; lid of the button tin; hook behind the bathroom door; stop for the sliding wardrobe; cover of the remote
spacer behind the mirror; hinge of the sewing box; end piece for the curtain pole; latch of the garden shed; handle for the bucket; shelf support in the larder; tab of the paper tray; holder for six paint brushes; wedge under the desk; ring for the bath curtain
cap for the tent pole; bed linen box label; drawer pull; drawer slide bumper; cabinet leg leveller; shelf lip; shelf divider; bookend foot; wardrobe lock cam; mirror pad; hat box hinge; piano hinge end; organ stop knob; recorder thumb rest; cello spike stopper; sheet music stand
tuner clip; guitar hanger pad; ukulele bridge pin; drum tension rod washer; magnifier stand; microscope knob; telescope finder bracket; globe axis cap; compass housing; slide viewer lid; film canister lid; camera hot shoe cover; tripod plate; flash diffuser; printer paper guide
scanner latch; keyboard feet; router wall clip; modem stand; cable tie mount; webcam clip; headphone hook; monitor vesa spacer; laptop riser; greenhouse vent peg; seed tray; pot riser; bulb planter depth stop; lawn edging pin; leaf rake collar; bird box roof; gnome hat
sundial gnomon; paint roller cage end; wallpaper brush handle; tile spacer; grout float handle; spirit level vial cover; chalk line crank; nail box; screw tray; tool clip; drawer for drill bits; clothes line prop; peg bag hook; laundry tag; ironing mat clip; sock ring; shoe horn
coat toggle; umbrella handle; walking map case; tea caddy lid; napkin ring; place card holder; tray handle; bottle rack peg; wine label clip; bread bin hinge; recipe box divider; fridge magnet; jar tag; car mat clip; number plate cap; boot liner hook; ticket holder; sunshade clip
ice scraper handle; tyre gauge pouch; map pocket clip; phone mount arm; key case; suitcase latch; rucksack buckle; camera bag divider; tent peg; guy line slider; camp table foot; torch clip; sleeping mat strap; fishing box latch; chess king; draughts counter; scrabble tile rack
mahjong rack; cribbage peg; card shuffler knob; dice tray; domino holder; board game box corner; backgammon counter; picture rail hook; canvas stretcher key; frame backing turn button; easel chain hook; paint palette; brush pot; stencil; pen nib box; ink blotter; door stay
cupboard catch; letterbox flap; key cabinet hook; door number; door closer cover plate; coat rail end; draught strip clip; gate latch; clock hand; clock case foot; alarm clock button; pendulum clip; barometer bezel; thermometer bracket; calendar cube; photo cube; trophy base
loom peg; bobbin; knitting row counter; yarn guide; crochet hook handle; button gauge; pin box; quilting clip; lace pillow foot; embroidery stand knob; vacuum crevice tool; vacuum wheel; dustpan clip; broom cap; squeegee handle; mop clamp; bucket strainer; cleaning caddy; bin lid
bin liner ring; aquarium hood clip; terrarium backdrop clip; model railway bridge; model tree; diorama base; kit sprue holder; hobby knife stand; airplane model stand; towel hook; shower shelf foot; tile hook; bath tray end; soap box; toilet roll post; mirror shelf clip
toothbrush mug ring; hair clip box; cosmetics tray; abgebrochene Ecke vom Papierfach; Ersatzfuss fuer die Kommode; Klammer vom Rollo; Knopf vom alten Radio; Rolle unter der Schublade; Deckel der Knopfdose; Haken hinter der Badtuer; Anschlag fuer den Schiebeschrank
Batteriedeckel der Fernbedienung; Abstandhalter am Spiegel; Scharnier vom Naehkasten; Endstueck der Gardinenstange; Riegel vom Schuppen; Griff fuer den Eimer; Regaltraeger im Vorratsschrank; Lasche vom Ordner; Pinselhalter; Keil unter dem Schreibtisch; Ring fuer den Duschvorhang
Kappe der Zeltstange; Waescheleinenspanner; Klammerbeutel; Buegelbrettfuss; Kleiderbuegel; Sockenring; Schuhanzieher; Mantelknebel; Regenschirmgriff; Huthaken; Wanderkartenfach; Klavierscharnier; Orgelknopf; Blockfloetenstaender; Cellostachelstopper; Geigenkasten; Notenpultfuss
Stimmgeraetclip; Gitarrenhaken; Ukulelensteg; Trommelscheibe; Lupenstativ; Mikroskopknopf; Fernrohrschuh; Globusachse; Kompassgehaeuse; Diabetrachterdeckel; Filmdosendeckel; Blitzschuhkappe; Objektivring; Papierfuehrung; Scannerriegel; Tastaturfuss; Routerhalter; Modemstaender
Kabelbinderhalter; Webcamclip; Kopfhoererhaken; Monitordistanz; Laptoperhoehung; Gewaechshausstift; Saatschale; Topferhoehung; Pflanzenetikett; Rasenkantenstift; Laubrechenring; Nistkastendach; Gartenzwerg; Sonnenuhr; Malerrollenbuegel; Tapezierbuerste; Fliesenkreuz
Fugbrettgriff; Wasserwaagenglas; Schlagschnurkurbel; Nagelkasten; Schraubenschale; Werkzeugclip; Bohrerschublade; Teedose; Serviettenhalter; Platzkarte; Tablettgriff; Weinregalstift; Etikettclip; Brotkastenscharnier; Rezeptkasten; Kuehlschrankmagnet; Glasuntersetzer
Fussmattenclip; Nummernschildkappe; Kofferraumnetzhaken; Tickethalter; Sonnenschutzclip; Eiskratzergriff; Kartenfach; Handyarm; Schluesseletui; Parkscheibenhalter; Kofferschloss; Rucksackschnalle; Kamerataschenteiler; Hering; Abspannleinenschieber; Campingtischfuss
Taschenlampenclip; Isomattenband; Angelkastenriegel; Schachkoenig; Damestein; Buchstabenbank; Mahjongleiste; Zaehlstift; Kartenmischerknopf; Wuerfelteller; Dominohalter; Spielkartonecke; Backgammonstein; Bilderschiene; Spiegelklemme; Keilrahmen; Rahmendreher; Staffeleikette
Palette; Federkasten; Tintenloescher; Tuerfeststeller; Schrankschnaepper; Briefklappe; Schluesselkasten; Tuernummer; Namensschildhalter; Tuerschliesserblende; Garderobenleiste; Dichtungsclip; Torriegel; Uhrfuss; Weckerknopf; Pendelklemme; Barometerring; Kalenderwuerfel
Fotowuerfel; Pokalfuss; Wetterhahn; Webstift; Garnspule; Reihenzaehler; Garnfuehrer; Haekelnadelgriff; Knopfmass; Nadeldose; Quiltklammer; Kloeppelkissen; Stickstaender; Fugenduese; Saugerrad; Kehrblechclip; Besenkappe; Abziehergriff; Moppklemme; Putzeimersieb; Putzkiste
Eimerdeckel; Muellsackring; Aquarienhaubenclip; Modellbahnbruecke; Modellbaum; Dioramaplatte; Bastelmesserstaender; Flugzeugmodellstaender; Vitrinenboden; Sammelkartenhalter; Muenzkapsel; Briefmarkenlupe; Duschablage; Fliesenhaken; Wannenbrett; Seifenkiste; Klorollenstift
Spiegelablage; Zahnbuerstenring; Haarspangenkasten; Kosmetikfach; bookcase shelf clip; photo frame leg; drawer knob base; cable tidy; curtain rail stop; magazine file foot; blind cord toggle; lamp-side table glide; shoe cabinet flap hinge; wardrobe hook; jewellery tree base
mirror stand hinge; desk drawer guide; hat stand arm; wall hook; washing line tensioner; soap holder; shower caddy hook; toilet brush cup; towel peg; bath plug chain ring; cotton bud box; comb holder; laundry bag ring; peg; drawer organizer; spice label; bag clip
pan lid organiser; tin shelf; egg rack; plate stand; oven glove hook; kitchen scale lid; sponge holder; garden hose guide; flower pot wheel; plant tie; greenhouse latch; shed hinge; lawn rake tine holder; seed dibber; cold frame stay; garden kneeler foot; compost bin flap
radio battery lid; tv foot; mouse pad corner; game box; keyboard key; speaker cover; printer knob; phone holder; cd rack; record crate handle; tent hook; suitcase foot; map holder; bottle cage; torch ring; fishing reel knob; camping mug hook; cool bag zip; beach umbrella screw
guitar capo; violin shoulder rest; music clip; piano lamp foot; drum key; flute stand; harmonica holder; sheet holder; tuning peg; pick box; puzzle piece; chess board; dice; card case; counter tray; model house; train table clip; paint pot; craft knife box; screw organiser
drill stand; saw hook; file handle; workbench stop; vice handle cap; clamp foot; tape holder; paint lid key; glue spreader; car phone holder; number plate clip; boot organiser; glovebox knob; sunglasses clip; parking card; seat back hook; key ring; ice scraper; mud flap clip
Bücherregalclip; Bilderrahmenbein; Schubladengriff; Kabelordner; Vorhangstopper; Stehsammler; Rollotroddel; Schuhschrankscharnier; Schrankhaken; Schmuckbaum; Spiegelscharnier; Schreibtischschublade; Hutständer; Wandhaken; Türkantenpuffer; Wäscheleinenspanner; Seifenhalter
Duschkorbhaken; Bürstenbecher; Handtuchstift; Stöpselkette; Wattestäbchendose; Kammhalter; Wäschesackring; Schubladenordner; Gewürzetikett; Tütenclip; Dosenregal; Tellerständer; Topflappenhaken; Schwammhalter; Deckelhalter; Rollenhalter; Einsatz; Schlauchhaken; Blumentopfrolle
Pflanzenbinder; Gewächshausriegel; Schuppenscharnier; Rechenhalter; Pflanzholz; Frühbeetstütze; Komposterklappe; Gartenschild; Radiobatteriefach; Fernseherfuß; Mauspad; Spielebox; Taste; Lautsprecherblende; Druckerknopf; Handyhalterung; CD-Regal; Plattenkiste; Zelthering
Kofferfuß; Kartenhülle; Flaschenkorb; Lampenring; Angelrollenknopf; Becherhaken; Kühltasche; Strandschirmschraube; Kapodaster; Schulterstütze der Geige; Notenclip; Klavierlampe; Stimmschlüssel; Querflötenständer; Mundharmonikahalter; Notenhalter; Stimmwirbel; Plektrumdose
Puzzleteil; Schachbrett; Würfel; Kartenetui; Spielsteinschale; Modellhaus; Bahnplattenclip; Farbtopf; Bastelmesserbox; Schraubenordner; Bohrständer; Sägehaken; Feilenheft; Werkbankstopper; Schraubstockkappe; Zwingenfuß; Klebebandhalter; Farbdosenöffner; Leimspachtel
Handyhalter fürs Auto; Kennzeichenclip; Kofferraumordner; Handschuhfachknopf; Parkkarte; Lehnenhaken; Schlüsselring; Eiskratzer; Schmutzfängerclip; Kartenhalter; drawer rail bumper; wine shelf label; curtain eyelet; wall clock battery door; record sleeve divider; bath mat hanger
shelf rail stop; rug corner; jewel box catch; sofa remote pocket clip; table leaf catch; gate leg table stop; nest of tables glide; knob for a chest of drawers; slat of a venetian blind; ring for a towel; cap of a glue stick; peg for a solitaire board; wheel of a tea trolley
foot for a jewellery box; hook for aprons; lid of a sewing basket; stand for a calendar; key cabinet peg; message board clip; envelope sorter; stamp dispenser; book light clip; reading stand lip; page turner; globe ring; atlas stand; plant label; tomato ring; raised bed corner
seedling pot; dibber; sieve frame for soil; garden twine holder; hose reel crank; bird table hook; wind chime hanger; sun dial; greenhouse wing nut; leaf scoop; bucket lid; knee pad for the garden tray; tripod leg lock; camera strap slider; lens hood; film spool
projector slide tray; enlarger knob; darkroom clip; photo corner; light box foot; negative holder; banjo tailpiece; accordion button; trombone slide bumper; sax key pad; violin case latch; song book rest; guitar strap button; capo; drum dampener; draughts box; tile rack; spinner
score peg; jigsaw sorter; model boat stand; kite reel; tool pouch clip; bench stop; saw horse cap; plane knob; chisel roll buckle; mallet rack; ruler stop; marking knife sleeve; drawer for screws; suitcase buckle; toiletry box hinge; passport holder; travel alarm stand
luggage strap slide; hat box; coat hook; glove clip; umbrella stand; shoe rack; computer foot; cable ring; router shelf; headset hook; mouse dock; printer feed tray; disc tray; tablet leg; controller rest; monitor hood; Schubladenpuffer; Weinetikett; Vorhangöse
Wanduhrbatteriefach; Plattenhüllentrenner; Badematte; Teppichecke; Schmuckkästchenverschluss; Klapptischriegel; Beistelltischgleiter; Knauf für die Kommode; Lamelle der Jalousie; Ring fürs Handtuch; Klebestiftkappe; Solitärstift; Teewagenrad; Schatullenfuß; Schürzenhaken
Nähkorbdeckel; Kalenderständer; Schlüsselhaken; Memobrettclip; Briefsortierer; Briefmarkenrolle; Leselichtclip; Buchständerlippe; Seitenwender; Globusring; Atlasständer; Zettelkasten; Tomatenring; Hochbeetecke; Anzuchttopf; Erdsieb; Gartenschnurhalter; Schlauchwagenkurbel
Windspielhaken; Laubschaufel; Stativbein; Kameragurt; Gegenlichtblende; Filmspule; Diamagazin; Vergrößererknopf; Fotoecke; Leuchtpultfuß; Negativhalter; Bilderleiste; Banjosteg; Akkordeonknopf; Saxofonklappe; Geigenkastenriegel; Liederbuchstütze; Gitarrengurtknopf; Trommeldämpfer
Orgelzug; Taktstockhülle; Notentasche; Dameschachtel; Kartenschale; Buchstabenständer; Drehscheibe; Zählbrettstift; Puzzlesortierer; Modellschiffständer; Drachenspule; Spielkasse; Werkzeugtasche; Bankhaken; Sägebock; Hobelknauf; Stechbeitelrolle; Klüpfel; Linealanschlag
Anreißmesser; Schraubenschublade; Kofferschnalle; Kulturbeutelhaken; Passhülle; Reisewecker; Hutschachtel; Mantelhaken; Handschuhclip; Schuhregal; Gepäckgurtschieber; Rechnerfuß; Kabelring; Routerregal; Kopfhörerhalter; Mausdock; Papiereinzug; Laufwerkschublade; Tabletbein
Controllerablage; Bildschirmblende; shelf bracket cap; drawer handle; curtain clip; blind pull; bath mat clip; mirror bracket; wardrobe rail end; shoe rack foot; umbrella holder; coat peg; key tag; name plate; door knob spacer; cupboard latch; cabinet foot; table corner
desk tidy; pen holder; cable clip; laptop foot; remote cover; speaker foot; radio knob; battery cover; camera cap; tripod knob; lens case; guitar pick; piano foot; chess piece; dice box; card holder; puzzle tray; plant pot; hose hook; rake clip; garden marker; fence cap
gate hook; bird house roof; bag buckle; travel tag; sewing box; thread holder; needle box; tool holder; drill rack; screw box; paint tray; level cap; broom hook; mop clip; bucket handle; clothes peg; laundry clip; tray foot; bottle rack; spice rack; jar label; tea tin
tea tray handle; egg timer; vase foot; lamp foot pad; photo stand; train bridge; magnet holder; whiteboard tray; stamp box; book stop; file label; paper tray; car cup holder; car phone mount; parking disc; Regalwinkel; Vorhangclip; Rollozug; Seifenschale; Spiegelhalter
Kleiderstangenende; Schuhregalfuß; Schirmhalter; Schlüsselschild; Türknaufscheibe; Schrankriegel; Schrankfuß; Tischecke; Stiftebox; Kabelclip; Laptopfuß; Batteriedeckel; Kameradeckel; Stativknopf; Objektivbox; Schachfigur; Würfelbox; Puzzlekiste; Blumentopf; Rechenclip; Torhaken
Vogelhausdach; Reiseschild; Nähkästchen; Garnhalter; Nadelbox; Werkzeughalter; Bohrerregal; Schraubenbox; Zwingenschutz; Farbwanne; Wischmoppclip; Eimergriff; Wäscheclip; Serviettenring; Tablettfuß; Flaschenregal; Glasetikett; Eieruhr; Vasenfuß; Filzgleiter; Fotoständer; Pokalfuß
Bahnbrücke; Magnethalter; Tafelablage; Stempelbox; Buchstopper; Becherhalter im Auto; Handyhalter; Lampenclip
gasket for storage tin; toyless shelf peg; breakfast tray foot; Stromberg Figur; Blindleiter Modell; Gasse Schild; Gastgeber Tischkarte; Autogramm Rahmen; Herdbuch Halter; Babylon Modell; Tonleiter Poster; Essigbaum Schild; Lampertheim Schild; Katzenauge Knopf
Begleiterbox; Axt Schutz; Sägespäne Schutz; Strahlregler Schlüssel; Schraubzwinge Schoner; Türdämpfer; Schubladendämpfer; Skizzenbuch Halter; skinny shelf pin; heather pot foot; stovepipe hat stand; ventilation grille; floor protector; chair foot cap; Stuhlbein Hülse
breaker bar hook; skate storage hook; dumbbell rack foot; swim goggles hook; sander dust adapter; lawn mower grass box clip; hedge trimmer sheath; oil can cap; boat locker catch; bike mudguard clip; sunglasses case clip; Rasierer Ständer; car boot hook
raised bed bracket; Mülleimer Pedal; Waschmaschine Fuß; Dunstabzug Schieber; Küchensockel Clip; Küchenrolle Halter; Fahnenmast Ring; Einlageboden Träger; Heckenschere Köcher; Akkuschrauber Halter; Lampenschirm Reif; lamp shade finial; Lotschnur Rolle; Schuldschein Rahmen
Wohnwagen Schrankschloss; greenhouse vent hook; Mantelknopf; Glasboden Auflage
suitcase wheel hub; spectacle case hinge; shoe rack rung clip; cistern lever link; mop bucket pedal link; spinning wheel bobbin spacer; flower press screw knob; mop wringer tooth; Klorollenhalter Achse; Wasserhahn Rosette
pedal for a dustbin; chair arm pad; model railway platform edge; lantern for tealight led base; whistle clip; garage door remote clip
honey frame spacer; hammock stand end cap; barbecue cover toggle; swing seat canopy clip; bench slat plug; butter knife rest; wine glass rack rail
hinge for the toy-free cupboard; hard disk sled; easter egg stand; candlestick foot pad; incense box lid; wiper blade box; log basket foot
chimney sweep brush rack; banister ball; newel post cap; thermos bag strap; water carrier tap bracket; horse brush strap; hen house ramp cleat
butter churn stand; gym bag hook; blender base foot; drip line stake; jewelry box clasp; bracelet clasp box; ski parka zip pull; can opener knob
rain barrel spigot plug; medicine chest shelf; table lamp shade ring; wine bucket foot; tabor pipe cap; perch for a carved bird; lens cap leash
saddle oxford shoe tree; sugar bowl foot; electronic balance pan foot; fish bowl lid; wine bottle label holder; cigar band album corner
food hamper strap; house paint tin lid opener; cocktail dress hanger; Stehlampe Filz; Kronleuchterglas Karton; Schornsteinfeger Figur; Kaminuhr Fuß
Kerzenkarton; Obstkorb Fuß; Ventilator Fuß; Kranzhaken; Krippe Dach; Hantelregal Fuß; Dachfenster Stange Haken; Garagentor Schild; Haarspange Karte
Badmatte Saugnapf; Klappstuhl Aufbewahrung Haken; Stuhllehne Kappe; Mostkiste; Backofen Handschuh Haken; Satteltasche Schnalle; Rettungsring Haken
Kanu Luke Band; Segelsack Schnalle; Hühnerstall Schieber; Signal Modell Mast; Lesebrille Etui; Apothekerschrank Knopf; Kartenschalter Modell
brother desk tray; shepherd figure stand; obstacle game tile; trinket tray; thunder drum spring; spur gear; french cleat hook; spoke nipple tray
speaker retainer clip; embroidery floss bobbin; hutch shelf pin of the kitchen hutch; Besteckerolle Band; Drehachse Globus
broken foot of the bookshelf; knob for the sideboard; new catch for the writing desk; little wheel from the drawer; spacer between worktop and wall
corner of the laundry box; bracket that holds the shelf; handle of an old trunk; lid for the screw tin; clip on the cable; cap on the table leg
peg under the shelf; ring round the pipe collar; plate behind the door handle; guide at the bottom of the sliding door; hook in the hall
slider for the curtain; holder for the brush; tool chest drawer pull; workbench vice knob; saw horse bracket; chisel rack; chisel end cap
screwdriver rack; kleiner Fuß vom Sofa; Knopf für die Kommode; Griff an der alten Truhe; Haken im Flur; Deckel der Nähdose; Ring um das Rohr
Klammer für das Tischtuch; Leiste unter dem Regal; Rolle vom Nachttisch; Stopper für die Schublade; Stift im Scharnier; Halter für den Besen
Kappe für das Stuhlbein; Schieber am Fenster; Ecke vom Bilderrahmen; Abstandshalter hinter dem Spiegel; Führung der Schiebetür; Clip für das Kabel
Riegel vom Gartenhaus; Blende am Türgriff; Anrichte Knopf; Vitrine Bodenträger; Sekretär Klappe Stütze; Ausziehtisch Riegel; Couchtisch Rolle
Kopfteil Abstandhalter; Matratzengriff; Lampenschirmring
couch arm tray; telephone receiver cradle; Absperrband Pfosten Fuß; Vorratsdose für Knöpfe; sugar bowl stand; candle snuffer wall peg
utensil jar ring; barometer needle; pulse timer stand; Gouache Palette Napf; Haarspange Box; Abakus Perle; computer mouse skate; dry wall anchor box
book binding press knob; nosepiece of a projector; ice cube timer stand; table tennis net post
gear set box; flashlight switch boot; ferrule for a cane blind; wagon model wheel hub; glass cutter wheel cap; fishnet needle; duffel coat horn button
high hat clutch; gym slip hanger; stilt walker costume clip; tablet cradle; overhead slide box
worn spot patch form; optical bench foot; balance beam scale pointer; goal post model
"""  # fmt: skip


def names_in(text: str) -> list[str]:
    return [name.strip() for line in text.strip().splitlines() for name in line.split(";")]


def harmless() -> list[str]:
    return names_in(HARMLESS) + names_in(MORE_HARMLESS) + names_in(FRESH_HARMLESS)


@pytest.mark.parametrize("use", DANGEROUS)
def test_each_danger_is_told_by_the_name_alone(use):
    missed = [name for name in DANGEROUS[use] if use not in spotted(name)]
    assert missed == []


def test_dangers_that_were_listed_apart_are_told():
    names = names_in(MORE_DANGEROUS) + names_in(FRESH_DANGEROUS)
    missed = [name for name in names if not spotted(name)]
    assert len(missed) <= 0.005 * len(names), missed
    assert len(names) >= 1000


def test_harmless_names_are_left_in_peace():
    alarms = {name: found for name in harmless() if (found := spotted(name))}
    assert len(harmless()) >= 200
    assert len(alarms) <= 0.02 * len(harmless()), alarms


def test_no_template_and_no_part_on_the_shelf_is_called_dangerous():
    repairs = [read_template(path) for path in sorted(SHELF.glob("*.ipynb"))]
    steps = [step.name for repair in repairs for step in repair.steps]
    names = [repair.name for repair in repairs] + catalogue.names() + steps
    assert len(repairs) >= 30
    told = [name for name in names if spotted(name) and not of_shapes(name)]
    assert told == ["bottle cap"] and set(spotted("bottle cap")) == {"food"}


def test_nor_is_one_in_german(monkeypatch):
    """But for a bottle's cap, which what is drunk may touch."""
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")
    repairs = [read_template(path) for path in sorted(SHELF.glob("*.ipynb"))[::3]]
    repairs += [read_template(SHELF / f"{name}.ipynb") for name in ("tray-divider", "strap-buckle")]
    told = [
        name
        for repair in repairs
        for name in (repair.name, *(step.name for step in repair.steps))
        if spotted(name) and not of_shapes(name)
    ]
    assert set(told) <= {"Flaschenverschluss"}


@pytest.mark.parametrize(
    "name", ["blade", "nase", "tooth 2", "stair", "plug", "valve", "Zahn", "stufe"]
)
def test_a_word_for_a_shape_tells_nothing_as_the_name_of_a_step(name):
    repair = Repair("tray divider").add("box", name=name)
    assert {found.severity for found in cautions(Subject.of(repair))} == {"note"}
    repair = Repair("tray divider").add("box", name="brake " + name)
    assert "vehicle" in {found.rule for found in cautions(Subject.of(repair))}


@pytest.mark.parametrize(
    ("name", "uses"),
    [
        ("toy car wheel", {"child"}),
        ("toy truck axle", {"child"}),
        ("car wheel", {"vehicle"}),
        ("Gartenschlauch Kupplung", {"pressure"}),
        ("Kupplung", {"vehicle"}),
        ("Gasdruckfeder", {"pressure"}),
        ("Gasdruckregler", {"fire", "pressure"}),
    ],
)
def test_a_thing_tells_of_its_own_dangers_and_no_other_s(name, uses):
    assert set(spotted(name)) == uses


def test_a_word_is_read_whole_however_it_is_typed():
    assert "fire" in spotted("GAS_TAP")
    assert spotted("GasTap") == spotted("gas tap")
    assert "fire" in spotted("Feuerloescher-Halter")
    assert "fire" in spotted("Feuerlocher-Halter")
    assert "weight" in spotted("stairgate handrail") and "weight" in spotted("hand rail end")
    assert spotted("gasket") == spotted("Leiterplatte") == spotted("forklifting toolbar") == {}
    assert spotted() == spotted("") == {}


def test_an_umlaut_is_another_letter_however_it_is_typed():
    for kitchen, cake in (("Küchenhaken", "Kuchenhaken"), ("Kuechenfuß", "Kuchenfuß")):
        assert spotted(kitchen) == {} and set(spotted(cake)) == {"food"}
    assert spotted("Höckerknopf") == spotted("Chauffeurmütze") == spotted("Lotion bottle") == {}
    assert spotted("Doener Brater") == spotted("Döner Brater")
    assert spotted("Wasserhahn Griff") and spotted("Feuerloscher") and spotted("Heizkorper")


def test_what_is_harmless_is_so_apart_in_one_word_and_where_its_word_comes_again():
    assert spotted("Perlatorschlüssel") == spotted("Perlator Schlüssel") == {}
    assert spotted("pedal bin pedal") == {} and "vehicle" in spotted("kart pedal")
    assert spotted("Tischventilator Fuß") == {} and "pressure" in spotted("Tischventil Fuß")
    assert spotted("christmas tree stand screw") == {} and spotted("tree stand screw")
    assert "weight" in spotted("bunk bed rail end") and spotted("bed rail end") == {}


def test_english_words_of_danger_are_known_in_one_with_a_part():
    assert set(spotted("brakelever")) == {"vehicle"} and spotted("ladderfoot left")
    assert spotted("clover lid") == spotted("platformer hook") == spotted("buttonhook") == {}


def test_a_holder_in_which_a_thing_is_hot_or_at_work_is_no_rack():
    assert spotted("Bremsbelaghalter") and spotted("soldering iron stand")
    assert spotted("Lötkolbenständer") and spotted("Lötzinnhalter") == {}


def test_a_slip_in_typing_is_seen_through_where_no_other_word_begins_so():
    for typed in (
        "Kettnesägenschutz",
        "Rauchhmelder",
        "wheelchiar wheel",
        "Steckdoose",
        "carabinner",
    ):
        assert spotted(typed), typed
    assert spotted("scaffolld clip") and LONG == len("scaffold")
    assert spotted("hammmock clip") == {} and spotted("hammock clip")
    assert spotted("Schraubzwinge") == spotted("Strahlregler") == {}
    assert spotted("Schulterriemen") == spotted("Beetkante") == spotted("Klingelschild") == {}


def test_what_only_keeps_a_thing_is_harmless_and_a_danger_that_is_called_so_is_not():
    for name in (
        "sunglasses case clip",
        "razor wall hook",
        "skate storage hook",
        "Rasierer-Ständer",
    ):
        assert spotted(name) == {}, name
    for name in ("pill box lid", "Bremszughalter", "lamp holder", "Lampenschalter", "razor guard"):
        assert spotted(name), name


def test_a_part_of_a_thing_is_read_as_the_thing_s_part():
    for name in ("knob of the gas hob", "gas hob knob", "Knopf vom Gasherd"):
        assert "fire" in spotted(name), name
    assert spotted("pedal for a bin") == spotted("bin pedal") == {}
    assert spotted("prop for a wall")["weight"] == "prop for a wall"
    assert spotted("cap on the leg of the chair") == spotted("chair leg cap") == {}
    assert "mains" in spotted("sockets cover") and "sport" in spotted("grip for climbing holds")


def test_a_holder_for_a_thing_keeps_it_and_a_holder_of_it_is_its_part():
    assert spotted("holder for the goggles") == {} and spotted("holder of the goggles")
    assert spotted("Halter für die Drohne") == {} and spotted("Messerhalter vom Rasenmäher")


def test_a_label_a_card_and_a_cushion_are_harmless_of_any_thing():
    for name in ("fuse box label", "Garagentor Schild", "Haarspange Karte", "stool cushion"):
        assert spotted(name) == {}, name
    for name in ("stool", "baby card", "exit sign", "Schnuller Schild", "Boxhandschuh"):
        assert spotted(name), name


def test_what_no_food_touches_is_harmless_of_a_container():
    assert (
        spotted("sugar bowl foot") == spotted("bread bin handle") == spotted("juicer hinge") == {}
    )
    for name in ("sugar bowl", "pizza wheel", "chopping board foot", "salad spinner knob"):
        assert "food" in spotted(name), name


def test_harmless_words_may_share_a_word_and_a_short_one_is_no_two_words():
    assert spotted("model railway platform") == spotted("skip") == spotted("skill game") == {}
    assert "sport" in spotted("ski pole") and "sport" in spotted("ski mask")


def test_the_words_that_tell_are_shown_as_they_were_typed():
    assert spotted("Griff für Gas-Hahn")["fire"] == "gas" and spotted("Föhn")["mains"] == "föhn"


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


def test_a_class_s_part_is_no_toy_for_being_a_pupil_s():
    """A part of a class is named after its pupil, whose name may be a word of danger."""
    assert not spotted("Pupil 3") and "child" in spotted("schoolchild's ruler")
    assert {"food", "child"} <= set(spotted("Koch", "Schulz"))
    for pupil in ("Koch", "Schulz", "Walker", "Girl 3"):
        part = Repair(f"{pupil}{WHOSE}spacer").add("spacer")
        assert [f.rule for f in check(part).findings if f.severity == "stop"] == []
    hob = Repair(f"Koch{WHOSE}gas hob knob").add("knob")
    assert {"fire", "heat"} <= {f.rule for f in check(hob).findings}


@pytest.mark.parametrize(
    ("name", "use"),
    [
        ("Sicherheitsventil Kappe", "pressure"),
        ("Kappe vom Sicherheitsventil", "pressure"),
        ("Überdruckventilkappe", "pressure"),
        ("cap of the shower stool", "weight"),
        ("Duschhocker Kappe", "weight"),
        ("Kappe vom Tritthocker", "weight"),
    ],
)
def test_a_danger_stays_one_under_a_harmless_cap(name, use):
    assert use in spotted(name)


@pytest.mark.parametrize("name", ["Ventilkappe", "stool leg cap", "Barhocker Kappe"])
def test_a_cap_of_what_is_no_danger_is_harmless(name):
    assert not spotted(name)


@pytest.mark.parametrize(
    "name, use",
    [
        ("Ventilkappe Schnellkochtopf", "pressure"),
        ("Hörgerät Batteriefach", "medical"),
        ("Wandhalter Fernseher", "weight"),
        ("wall cabinet hanger", "weight"),
        ("gear linkage", "vehicle"),
        ("Kabelverbinder Gartenstrom", "mains"),
        ("Schlauchverbinder Garten", "pressure"),
        ("TV Wandhalterung Abstand", "weight"),
        ("Sitzverstellung Auto Hebel", "vehicle"),
        ("Seitenspiegel Clip", "vehicle"),
        ("pepper grinder knob", "food"),
        ("drill cord boot", "mains"),
        ("Bewegungsmelder Gehäuse", "mains"),
        ("irrigation tee", "pressure"),
        ("Siphon Mutter Waschbecken", "pressure"),
        ("bathtub grip", "weight"),
        ("Stockbett Schraube", "weight"),
        ("extinguisher clip", "fire"),
        ("dosette box hinge", "medical"),
        ("fireside poker grip", "heat"),
    ],
)
def test_a_harmless_word_or_a_battery_s_tray_hides_no_danger_beside_it(name, use):
    assert use in spotted(name)


@pytest.mark.parametrize(
    "name",
    """
    Fallrohrschelle; Gurtschnalle Rucksack; Sägeblatt Hülle; paint tin opener; bed drawer wheel
    washing machine filter knob; extractor fan grease filter clip; Waschmaschine Flusensieb Knopf; Waschmaschine Türgriff
    mask display stand; toilet seat hinge cap; camp chair cup holder; Brillenetui Clip
    """.replace("\n", ";").split(";")[1:-1],
)
def test_a_filter_a_drawer_and_a_sleeve_are_harmless_of_a_machine(name):
    assert spotted(name) == {}


def test_the_file_is_toml_and_its_words_are_kept_once() -> None:
    text = (HERE / "danger_words.toml").read_text(encoding="utf-8")
    assert danger_words._rows() == tomllib.loads(text)
    known = danger_words._known()
    assert len({id(uses) for uses in known.values()}) < len(known) / 5
