"""Words that mean the same at the bench, words that say nothing, and how callers spell them.

`hear` reads these tables; they hold no symptom ids. Each line of `SAME` is one idea: its name, then the words for it.
`TOGETHER` does the same for words that only mean the idea side by side. A name in capitals can't clash with a word.
"""

from __future__ import annotations

_SAME = """
ATTACH: attach attached attaches
BEND: bend bending bends bendy bent flex flexed flexes flexing fold folded stretch stretched stretches twist twisted twists
BIG: big enormous giant huge large massive whopping
BITTEN: bite bites bitten chewed gnawed nibbled
BLISTER: blister blistered blistering blisters
BOND: adhere adhered adheres adhering adhesion bond bonded bonding bonds
BOTTOM: base bottom bottoms lowest underneath underside
BREAK: break breaking breaks broke broken snap snapped snapping snaps
BROWN: brown browned browning brownish
BUBBLE: bubble bubbled bubbles bubbling bubbly
BUMP: boils bump bumps bumpy pimple pimples pustule pustules zit zits
BURN: baked burn burned burning burns burnt char charred cooked overcooked overheated scorch scorched scorching singe singed toast toasted
CHEESE: cheese cheesy curd curds
CLEAN: clean cleanly spotless
CLING: cling clinging clings clung grip gripped gripping grips
COARSE: chunky coarse coarsely coarser
COLLAPSE: collapse collapsed collapses collapsing crashed deflate deflated deflates implode imploded pancake pancaked sank sink sinking sinks
COLLAPSE: slump slumped slumps souffle soufflé subside subsided subsides sunk sunken
COLOR: color coloration colored colors colour coloured colours hue pigment pigmented pigments shade shades tint tinted tints
COME: came come comes coming
CONCAVE: concave
CORNER: corner corners
CRACK: crack cracked cracking crackled cracks craze crazed crazes crazing fissure fissures fracture fractured fractures fracturing shatter
CRACK: shattered shatters splintered
CRATER: crater cratered craters pit pits pitted pitting pock pockmark pockmarked pockmarks pocks
CRAWL: crawl crawled crawling crawls recoils retreated retreats
CROSSWAYS: horizontal horizontally
CRUMBLE: crumb crumble crumbles crumbling crumbly crumbs disintegrate disintegrated disintegrates disintegrating friable
CRUST: crust crusts crusty scab scabby scabs
CRYSTAL: crystal crystallised crystallized crystals
CUP: beaker bucket buckets cup cups jug pail tub
CURE: cure cured curing harden hardened hardening hardens set sets setting solidified solidifies solidify
CUT: cut cuts cutting sawed sawn section sectioned slice sliced slices slit
DAY: day days
DEMOLD: demold demolded demolding demolds demould demoulded demoulding unmold unmolded unmould unmoulded
DENSE: dense denser density
DETAIL: antenna antler antlers beak beaks claw claws ear earlobe ears eartip eartips fang fangs feeler fin finger fingers fingertip fingertips
DETAIL: hoof horn horns lobe muzzle nose nosed noses nostril pinkie pinky points pointy snout spike spikes tail tails talon talons teeth
DETAIL: tentacle tentacles tip tips toe toes tooth tusk tusks wing wings wingtip wingtips
DIMPLE: dent dented dents dimple dimpled dimples dish dished dishes
DISCOLOR: discolor discoloration discolored discolour discolouration discoloured stain stained staining stains
DOME: dome domed domes doming
DOUBLE: double doubled doubles
DRAIN: drain drained drains ran run running runs
DRY: dried drier dries dry dryer drying
DULL: dull duller matt matte satin
EVERYWHERE: allover everywhere
EXPAND: expand expanded expanding expands expansion
EXPLODE: blew blown burst bursts explode exploded pop popped pops
FALL: drop dropped dropping drops fall fallen falling falls fell
FAST: fast faster immediately instantly quick quicker quickly rapid rapidly speedy
FAT: chubby fat fattened fattening fatter
FILL: fill filled filling fills
FISHEYE: cissing fisheye fisheyes
FLAKE: chip chipped chipping chips flake flaked flakes flakey flaking flaky scaly scurf
FLASH: flash flashed flashing flashy
FOAM: foam foams
FOREHEAD: belly brow cheek cheekbone cheekbones cheeks chest chin crown eyebrow eyebrows eyesocket forehead jaw neck shoulder shoulders socket
FOREHEAD: sockets temple temples thigh
FOREVER: ages forever yonks
FROTH: fizz fizzed fizzing fizzy foamy froth frothed frothing frothy
FUZZ: fluff fluffy fur furry fuzz fuzzy
GAP: gap gaps space spaces
GLUE: cemented glue glued welded
GOOD: ace beautiful brilliant fine good gorgeous great lovely nice nicely okay perfect sound superb
GOOSE: goosebump goosebumps
GRAMS: g gm gms gram gramme grammes grams kg kilo kilos lb lbs ounce ounces oz pound pounds
GRIT: gravel gravelly grit gritty sand sandy
GROW: bigger grew grow growing grown grows larger oversize oversized
HARD: firm firmer sensitivity hard harder hardness inflexible rigid stiff stiffer stiffness tough unbending unyielding
HAZE: bloom bloomed blooming blush blushed blushing clouded cloudy fogged foggy frosted frosty haze hazed hazy milky misty veil whitened
HAZE: whitish
HEAVY: heavier heaviest heavy hefty weighty
HEIGHT: height tall
HIDE: hide leather leathery suede velvet velvety
HOLE: hole holes holey
HOLLOW: emptiness empty hollow hollowed hollows
HOT: heat heated hot hotter warm
HOUR: hour hours hr hrs
HURT: hurt hurts
INCOMPLETE: incomplete partial partially unfinished
INSIDE: center centre core guts heart innards inside insides interior middle within
JOIN: fuse fused join joined joining joins knit knitted meet meets merge merged merges merging met
LAYER: lamination layer layered layering layers
LEAK: dribble dribbled erupt erupted erupting escaped escapes gush gushed gushing leak leaked leaking leaks oozed oozing overflow overflowed
LEAK: overflowing seep seeped seeping seeps spewed spewing spews spilled spilt squirted
LIGHTER: lighter lightweight
LIQUID: liquid runny soup soupy syrup syrupy treacle
LOOSE: bagging baggy loose looser slack
MISSING: disappeared vanished
MOLD: mold molding molds mould moulding moulds silicone
OIL: buttery grease greased greasy lard lardy lube lubricated margarine oil oils oily petroleum slick slimy slippery slippy
OPENING: inlet opening spout sprue
OUTSIDE: exterior outer outermost outside
PAINT: acrylic acrylics airbrush airbrushed basecoat clearcoat emulsion enamel enamelled gesso glaze lacquer lacquered paint painted painting
PAINT: paintjob paints paintwork primed primer primers priming repainted sealer topcoat topcoats undercoat undercoats varnish varnished
PATCH: blotch blotches blotchy island islands mottle mottled mottling patch patches patchy
PEEL: debond debonded delaminate delaminated delaminates delaminating detach detached detaching flapping lift lifted lifting lifts peel peeled
PEEL: peeling peels separate separated separates separating shed shedding sheds sloughing stripped stripping strips unbonded unglued unpeel
PEEL: unstick unsticking unstuck unzips
PEEP: peek peeking peeks peeping peeps
PINHOLE: pinhead pinhole pinholes pinprick pinpricks pricked prickled pricks
POCKET: airpocket cave cavern caverns caves cavities cavity chamber pocket pockets void voids
POOL: pool pooled pooling pools puddle puddled puddles
POUR: pour poured pouring pours
POWDER: ash chalk chalky dust dusts dusty flour powder powdered powders powdery soot talc
PRINT: fingermark fingermarks fingerprint fingerprints impression impressions imprint indentation indentations print printed prints thumbprint
PRINT: thumbprints
PRY: battle battled chisel chiselled crowbar fight fought lever levered pried prise prised pry struggle struggled tug tugged wrestle wrestled
PRY: yank yanked
RAGGED: jagged ragged raggedy shaggy tattered
RAISIN: prune prunes pruney raisin raisins sultana
REACT: react reacted reacting reaction reacts
RIPPLE: ripple rippled ripples rippling ripply
RISE: climb climbed climbing raise raised rise risen rises rising rose
ROUNDED: blunt blunted knob knobs nub nubby nubs rounded snub stub stubbier stubby stubs stump stumps stumpy stunted truncated
RUB: rub rubbing rubs scuff scuffed scuffs
RUBBER: rubber rubbery
SEAM: parting seam seams
SHINY: glassy glazed gloss glossy mirror polished sheen shine shines shinier shiny sleek
SHORT: short shorter
SHRINK: contract contracted contracting dwindled emaciated shrank shrink shrinkage shrinking shrinks shrivel shriveled shriveling shrivelled
SHRINK: shrivels shrunk shrunken smaller undersize undersized wither withered wizened
SKINCOAT: elastomer latex skincoat slush slushed
SLIDE: slid slide slides sliding slip slipped slipping slips slithers
SLOW: dawdling dragging drags lazy lethargic sleepy slow slowed slower slowly sluggish
SMELL: honks niff niffs odor odors odour pong pongs reek reeks scent smell smelled smelling smells smelly smelt stank stench stink stinking
SMELL: stinks stinky whiff whiffs whiffy
SOAK: absorb absorbent absorbs soak soaked soaking soaks
SOFT: droop drooped drooping droops droopy flabby flimsy flop floppier flopping floppy flops limp mushy pliable sag sagged sagging saggy sags
SOFT: soft softer spineless squashy squeezy squidge squidgy squishier squishiness squishy wilt wilted wilting wilts wimpy wobbly yielding
SPECK: bits dots fleck flecks grain grains granule granules nugget nuggets particle particles pellet pellets pip pips seed seeds shard shards
SPECK: speck specks specs
SPLIT: cleft gape gapes gaping gash rupture ruptured split splits splitting
SPONGE: loofah sponge sponges spongey spongy
SPRINGBACK: resilience resilient
SQUEEZE: compress compressed knead pinch pinched pinches poke poked poking press pressed presses pressing prod prodded push pushed pushing
SQUEEZE: squash squashed squashes squeeze squeezed squeezes squeezing squish
STAY: remain remained remains stay stayed staying stays
STICK: stick sticking sticks stuck
STICKY: adhesive claggy cloying gloopy gluey goo gooey goopy grabbed grabby grabs gum gummy gums gunk gunky stickier stickiness sticky
STICKY: stickyness tack tackiness tacky
STREAK: band banded banding bands streak streaked streaks streaky stripe striped stripes stripey stripy vein veined veins
STRING: strand strands strandy string strings stringy
STRONG: strength strong weak weaker weakness
SUCK: suck sucked sucking sucks
SURFACE: surface surfaces
SWEAT: sweat sweating sweats sweaty weep weeping weeps
SWELL: balloon ballooned ballooning balloons bloat bloated bloating bulbous bulge bulged bulges bulging dilated distended inflated puff puffed
SWELL: puffing puffs puffy rotund swell swelled swelling swells swollen
SWIRL: eddies marble marbled marbles marbling swirl swirled swirls swirly whirls whorl whorls
TAKE: take taken takes taking took
TEAR: rip ripped ripper ripping rips shear sheared shears shred shredded shredding shreds slashed tear tearing tears tore torn
THICK: thick thicker thickest thickness
THIN: narrow skinnier skinny thin thinner thinnest thins
THROUGH: through throughout
TINY: itsy little micro miniscule minuscule small teensy teeny tiniest tiny titchy wee
TUBE: bores burrow burrows channel channels chimney chimneys duct ducts pipe pipes shaft shafts straw straws tube tubes tunnel tunnels worm
TUBE: wormhole wormholes worms
UNEVEN: inconsistent irregular uneven unevenly varies vary varying
WEDGED: jammed lodged seized wedged
WEEK: week weeks wk wks
WEIGH: weigh weighed weighing weighs weight weights
WET: damp moist soggy wet
WRINKLE: crease creased creases crepe crepey crinkle crinkled crinkles crinkling crinkly crumpled furrow furrowed furrows gather gathered
WRINKLE: gathers pucker puckered puckers rucked ruffled rumpled scrunch scrunched scrunches wrinkle wrinkled wrinkles wrinkling wrinkly
YELLOW: jaundiced nicotine yellow yellowed yellower yellowing yellows yellowy
"""

_TOGETHER = """
BEND: make a fist; makes a fist; making a fist
BIGGER: gets bigger; getting bigger; got bigger; puffed up; swelled up; too big
!BOND: came unstuck; come adrift; come unstuck; debonded; part company; parted company; unbonded; works loose
BROWN: dark center; tan center
BUBBLECHOC: bubbly chocolate
COLLAPSE: cave in; caved in; caves in; caving in; fall in; falls in; fell in; gave out; let itself down; sat down; sunk in
COMEAPART: breaks up; came apart; come apart; comes apart; coming apart; fall apart; falling apart; falls apart; falls to bits
COMEAPART: falls to pieces; fell apart; opens up like; peels apart; pull apart; pulls apart
COMEOUT: budge; come out; comes out; coming out; demold it; get out; getting out; got out; move out; pull out; slide out; take out
!CURE: uncured; under cured; undercured; unset
CURE: dried out; dries out; dry out; firm up; firmed up; fully set; go firm; go hard; go solid; goes hard; going hard; gone hard; set hard
CURE: set up; turn solid; went hard; went solid
DETAIL: the thumb; thumb came; thumb stayed; thumb tip; thumbs came
EVERYWHERE: all around; all over; all round; every where; from top to bottom; the whole lot; the whole way round; top to toe; whole part
EVERYWHERE: whole thing
FALL: back down; down again; go down; going down; sank back; settled back; went back down; went down
!FILL: part filled; unfilled
FISHEYE: fish eye; fish eyes; fishes eyes
FOREVER: a long time; an age; donkeys years; for ever; longer than; much longer; so long; too long; twice as long
GOOFF: go off; goes off; going off; gone off; kick; kick off; kicked; kicked off; kicking; kicks; kicks off; went off
GOOSE: goose bumps; goose flesh; goose pimples
HARD: no flex; no give; not flexible
HEAVY: heavy weight; heavyweight; like lead; more than it should weigh; over weight; overweight; too dense; too much weight; twice the weight
HEAVY: up on weight; weigh a ton; weigh more; weighs a ton; weighs a tonne; weighs double; weighs more; weighs too much; weight is up
HEAVY: weight up
INSIDE: all the way through; all through; cut face; cut side; cut surface; fresh cut; right the way; right through; the whole way through
LEFTBEHIND: left behind; left in; left inside; left on; left up; remained in; stayed behind; stayed in; stayed inside; stayed on; stayed up
LEFTBEHIND: still in; still inside; still on; stuck up in
LIGHTER: below weight; came out light; down on weight; feather light; feather weight; featherlight; featherweight; feels light
LIGHTER: half the weight; is light; less than it should; light as; light weight; lightweight; not heavy enough; only weighs; really light
LIGHTER: short on weight; so light; too light; under target; under weight; underweight; very light; way light; weigh less; weigh nothing
LIGHTER: weighs less; weighs nothing; weighs too little; weight is down
MEMORYFOAM: memory foam
MISSING: absent; are not there; cut off short; gone missing; is not there; lacking; lost its; lost their; missing; not there; was not there
!MIX: badly mixed; not mixed; poorly mixed; undermixed; unmixed
NOTHINGYET: just sat there; just sits there; no reaction; no sign of; nothing doing; nothing going on; nothing happened; nothing happening
NOTHINGYET: nothing is happening; sat there; sits there
OPENING: fill hole; filler hole; filler neck; pour end; pour hole; pour opening; pour side; pour spout; pouring end; pouring hole
OPENING: pouring opening; sprue hole; where i pour; where i poured; where it was poured; where we poured
OVER: heavier by; over by; over target; over the target; over what
OVERNIGHT: a day later; afterwards; an hour later; by evening; by lunch; by lunchtime; by morning; by tea time; by teatime; by the afternoon
OVERNIGHT: by the evening; couple of hours; days after; during the night; few hours; following day; following morning; hour later; hours after
OVERNIGHT: hours later; hours on; in the night; later on; next day; next few hours; next morning; over night; over the weekend; overnight
OVERNIGHT: the day after
PAINT: base coat; clear coat; color coat; colour coat; final coat; first coat; last coat; next coat; paint job; second coat; spray can
PAINT: spray paint; the clear; the coating; third coat; top coat; top coats; under coat
PEEL: came away; came loose; came off; come away; come off; comes apart from; comes away; comes loose; comes off; coming away; coming off
PEEL: fall off; falling off; falls off; fell off; let go; lets go; letting go; lifts off; pull off; pulled off; pulls away from; pulls off
PEEL: rubs off in rolls
PINHOLE: needle holes; needle marks; needle pricks; needle size; pin hole; pin holes; pin prick; pin pricks; pin sized holes
POCKET: air bubble; air lock; air pocket; air pockets; air space; air trap; pocket of air; trapped air
POTLIFE: open time; pot life; time to pour; work time; working time
PRINT: finger mark; finger marks; finger print; finger prints; thumb mark; thumb print; thumb prints
REACH: came up to; come up to; get as far as; get into; get to; get up to; go into; got as far as; got into; got to; got up to; made it to
REACH: make it to; reach; reached; reaches; went into
RISE: came up; come up; comes up; coming up; go up; goes up; going up; shot up; went up
SEAM: mold line; mould line; parting line; parting lines; seam line; split line
SEETHROUGH: see thro; see through; see thru; translucent; transparent
SHORT: fell short; half filled; half full; halfway; ran out; run out; short of; stopped short; stops short; under filled; underfilled
SHRINK: caved in overnight; drawn in; gets smaller; getting smaller; gone small; gone smaller; got smaller; pulled in on itself; suck in
SHRINK: sucked in; sucking in; too small; went small
SKINCOAT: brushed in skin; elastomer skin; latex coat; latex layer; latex skin; outer rubber; rubber coat; rubber face; rubber layer
SKINCOAT: rubber lining; rubber shell; rubber skin; rubber skins; silicone skin; skin coat; skin coating; skin coats; skin layer; skin rubber
SKINCOAT: slush cast skin; slush coat; slush layer; slush rubber; slush skin; slushed skin; urethane skin
SKINSELF: own skin; self skin
SMELL: smell of; smelling whiffy smells of; smells like
SPRINGBACK: bounce; bounce back; bounces back; bouncy; come back; comes back; rebound; recover; recovers; recovery; spring; spring back
SPRINGBACK: springs; springs back; springy
STICKY: cling to my; clings to my; dust sticks; fluff sticks; grabs my; hair sticks; stick to everything; stick to my; sticks to everything
STICKY: sticks to gloves; sticks to itself; sticks to me; sticks to my; sticks to you; sticks to your; stuck to everything; stuck to my
STRAIGHTAWAY: before i; before i could; before id; before we; before we could; no time; right away; still mixing; still stirring
STRAIGHTAWAY: straight away; while mixing; while stirring
SWISSCHEESE: emmental; gruyere; swiss cheese
TACKFREE: tack free
TAPETEST: cross hatch; crosshatch; tape test
TOOFAST: faster than; in seconds; quicker than; really fast; so fast; too early; too fast; too quick; too quickly; too soon; very fast
TOOHOT: boiling hot; really hot; red hot; so hot; that hot; too hot; very hot
TOOSLOW: really slow; slower than; so slow; too slow; very slow
TOOSOFT: no body; no bounce; no support
TORNOFF: breaks off; broke off; broken off; came off in; ripped off; sheared off; snapped off; tore off; torn off
WEDGED: stuck fast; stuck solid; stuck tight
"""

_STOP = """
a about above absolutely across actually after again against all along already also always am an another any anybody anything are arm around as
at awful bad badly basically be because been before being between bit bloody body both by can cast casting castings cause cheers club completely
cos costume could creature damn did do does doing done dont down dragon during each eight enough especially even ever every everyone everything
fault feel feeling feels felt few first five folks for found four from get gets getting go goblin goes going gone got guess guys had hand hands
has have having he head hello help her here heres hes hey hi him hint his honestly horrible how i id if ill im in into is issue it its ive just
kind kinda know last leg less like literally load loads look looked looking looks lot lots made make makes making many mask mate may me might
mine monster more most much must my n near next nine normally notice noticed now obviously odd of off ok okay on one ones only onto or other our
out over own part particularly parts per piece please pretty problem prop properly puppet quite r rather really reckon remotely round rubbish s
said same saw say says see seem seemed seems seen seven shall she shes should sign signs since six slightly so some somebody someone something
sorry sort sorta still strange stuff such suppose sword t tell ten terrible than thank thanks that the their them then there theres these they
theyre thing things think this those thought three till to today told too totally trace tried troll trouble try two u under until up upon ur us
usually very w want wanted wants was way we weird well went were weve what whatsoever when where which while who whom why will with would wrong
ya yeah yep yes yet you your youve
"""

_NOT = """
aint arent barely cannot cant couldnt didn didnt doesn doesnt dont failed fails hadnt hardly hasnt havent isn isnt lack lacks neither never no
none nor not nothing nothings nowhere refused refuses refusing scarcely shouldnt wasn wasnt werent without won wont wouldnt
"""

# Said, but not of the part: taken out before "not" and "no" are read.
_IDLE = """
a finger; a fingernail; barely see; cannot see; cannot tell; cant believe; cant describe; cant really see; cant remember; cant see; cant tell;
could not see; didnt change; do not know; dont know; dont understand; dunno; hardly see; my finger; my fingers; my hands; my nose; never had this;
never happened; never seen; no bother; no change; no clue; no doubt; no idea; no joke; no matter; no more; no problem; not bad; not just;
not only; not sure; not sure how; not that i know; not to worry; not too bad; nothing changed; nothing else changed; our fingers; two fingers;
why not; with a finger; your finger; your fingers; your nose
"""

# Weak alone: they support other words, but a symptom needs more than these.
_WEAK = """
BIG BOND BOTTOM BREAK CLEAN COLOR COME CORNER CUP CUT DAY DRAIN DRY EVERYWHERE FALL FAST FILL FOAM FOREHEAD FOREVER GAP GOOD GROW HOT HOUR HURT
INSIDE JOIN LAYER MOLD OPENING OUTSIDE OVERNIGHT PAINT POUR REACH REACT RUB RUBBER SHORT SKINCOAT SLIDE STAY SURFACE TAKE THROUGH TINY WEEK WEIGH
actor apple back bath black board bread brick butter cake car card clear coat coffee cold dark day dog egg end expect eye eyes face feather
finish fish free full glass glove gloves half hand held high hold lead left light line lines long low lump lumps mark match minute minutes month
months morning move nail need new night normal number old open paper person place plain point rain releas right ring rings room second seconds
shell side size skin spot spots start started stop stopped sun tape target test thumb time top touch turn wall water white window wood work year
years
"""

# How callers type.
_SPELLING = """
abt=about adn=and agian=again allready=already alot=lots aw=all bcos=because brittel=brittle cannae=not coz=because crumbely=crumbly cuz=because
didnae=not doesnae=not dunno=unsure eers=ears everwhere=everywhere everyware=everywhere evrywhere=everywhere fibre=fiber fil=fill fils=fills
flyin=flying fomed=foamed gonna=going grey=gray hols=holes hte=the isnae=not layed=laid leek=leak leeks=leaks lite=light mins=minutes mold=mold
molud=mold nad=and nae=not naw=no nite=night nothings=nothing nowt=nothing oot=out overnite=overnight ovr=over owt=anything pain=paint
paitn=paint pant=paint peal=peel pealed=peeled pealing=peeling peals=peels piant=paint pls=please plz=please ppl=people rubbed=rub secs=seconds
stickey=sticky summat=something tackey=tacky teh=the tho=though thro=through thru=through tyre=tire tyres=tires wanna=want wasnae=not wen=when
whats=what whn=when willnae=not wks=weeks wth=with
"""

# Everyday words that are not typing errors, however near they come to one of ours.
_PLAIN = """
able account address afternoon again ageing alone alter altered always ambulance answer answers april arise august available baby backed base
based batter battery beach beat became beer bench best bike bird birthday blanks blocking bold bone book boss bought boy brackets brand breakfast
brother brush bus buy buying cache call called calling calls came cannot car carbon care case cash casing cat certain chain change changing
charge charged chat cheap checking child children choosing city class clear clicking close closer closing coffee collected come common computer
connected contact contract contrary contrast converted convey cook cookie corrected cost costs could country course covered crashing create
created creating creature credit curve curved deal dear december deliver delivery difference different differing dinner discovered displayed
doctor dog done door drawings drink driver drives early email evening event events example expensive explanation fact fair family far fare father
fear february feel feels fees film filter find finder finding findings finds fine finer finished finishing fire first fisher fit fits flattened
flattening floor folder font food fork form former forming forth free friday friend friends full gain game general girl give given gold gone good
goodbye goods grade graded grand great ground group grows guy handling happy hate hear heard heart heat hello high hint hire hiring holiday home
hope horse hours house husband idea important interval invoice january job jobs july jump jumps june kind knew know known large last later
latter lead leading least leaving leeds letter letters lie lies lime limit line listed listen little live load location locking long lose lost
love lunch mail man manager march marked market match matter maybe meal mean means meant meat meet men might mine mixing mixture moisture monday
money moody morning most mother movie much music must name nearby neat neater need never news nine noise none november number numbers nurse
october often once online open order ordered orders over overhead pace package packaged packaging packed page paid park parking password past
patched path pay people perhaps person phone plan plane plans play played plays please point pointed police poor port post pots power powers
price printer private processing produced property provided public published putting question questions quote race raced raises range rank rare
rate rated reach reaching read real reason receipt reduction refund rejected relation remainder remote reset retain ride road robe rode rolled
rolling rope rose rule sake sale same saturday school score searched seat second seek seen sell selling send sense sent separately separation
september shade shades shall shape shaped shapes shared ship shipped shipping shop shops short shortcut shortest should show shown sick side
sides signed sing single sister site size skill skipped sleep small sold some song soon sorry sort speak speaking special speed stable staff
stage staged stair stale standing star stare started starting state stated still stock stone stopping storing story stream street stronger
strongly student suits sunday sure tea teacher team template thanks think third thought thursday tide tied time today told tomorrow tone tonight
took tool town trade train trial trip tuesday tuned type types wait waiting waits wanting war warmed warned wash washed waste watch water weak
weather website wednesday week welcome whatever whenever wherever while white whole width wife will win wish woman women won wood word wording
words wore world worn worry worse worst would wrapped write wrong wrote yes yesterday young
"""

_ANCHORS = """
BLISTER BUBBLE COLLAPSE CRACK CRATER CRUMBLE CRYSTAL CURE DEMOLD DENSE DETAIL DIMPLE EXPAND FISHEYE FLAKE FLASH FOAM FROTH GOOFF GOOSE GRIT
HOLLOW MOLD PAINT PEEL PINHOLE POCKET POTLIFE POUR RAISIN RISE RUBBER SCORCH SEAM SHRINK SKINCOAT SMELL SPECK SPLIT SPONGE SPRINGBACK
SQUEEZE STICKY STREAK SURFACE SWELL SWIRL SWISSCHEESE TEAR WRINKLE YELLOW mix resin skin stir
"""

BREAKS = frozenset(["but", "and", "also", "plus", "although", "though", "however", "except", "yet", "whereas", "."])


def _pairs(text: str, split: str | None) -> dict[str, str]:
    """Read lines `NAME: word word` into word -> NAME; with *split*, words are parted by it."""
    table: dict[str, str] = {}
    for line in text.strip().splitlines():
        name, _, words = line.partition(": ")
        table.update({word.strip(): name for word in words.split(split) if word.strip()})
    return table


def _chains(table: dict[str, str]) -> dict[str, list[tuple[tuple[str, ...], str]]]:
    """Group word sequences by their first word, longest first."""
    chains: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for words, name in table.items():
        first, *rest = words.split()
        chains.setdefault(first, []).append((tuple(rest), name))
    for found in chains.values():
        found.sort(key=lambda chain: -len(chain[0]))
    return chains


SAME: dict[str, str] = _pairs(_SAME, None)
TOGETHER = _chains(_pairs(_TOGETHER, ";"))
IDLE = _chains({words.strip(): "" for words in _IDLE.replace("\n", " ").split(";") if words.strip()})
STOP = frozenset(_STOP.split())
NOT = frozenset(_NOT.split())
PLAIN = frozenset(_PLAIN.split())
WEAK = frozenset(_WEAK.split())
SPELLING: dict[str, str] = dict(pair.split("=", 1) for pair in _SPELLING.split())
ANCHORS = frozenset(_ANCHORS.split())
