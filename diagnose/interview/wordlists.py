"""Words that mean the same at the bench, words that say nothing, and how callers spell them.

`hear` reads these tables; they hold no symptom ids. Each line of `SAME` is one idea: its name, then the words for it.
`TOGETHER` does the same for words that only mean the idea side by side. A name in capitals can't clash with a word.
"""

from __future__ import annotations

_SAME = """
STICKY: sticky tacky gummy gooey gluey claggy cloying grabs grabbed gum gums goo goopy gloopy gunky gunk tack tackiness stickiness grabby stickier stickyness
CURE: cure cured curing harden hardened hardening solidify solidified set sets setting hardens solidifies
SMELL: smelling whiffy smell smells smelly smelled smelt stink stinks stinky stinking stank stench odor odors odour whiff whiffs pong pongs reek reeks niff niffs honks scent
OIL: oil oily greasy grease greased slimy slippery slippy slick buttery lubricated oils
PEEL: peel peels peeling peeled lift lifts lifting lifted detach detached detaching separate separates separating separated delaminate
PEEL: delaminates delaminating delaminated debond debonded unbonded unstuck unsticking unzips unpeel
FLAKE: flake flakes flaking flaky flaked chip chips chipping chipped
CRACK: crack cracks cracking cracked craze crazes crazed crazing fissure fissures crackled
SPLIT: split splits splitting gash cleft rupture ruptured
TEAR: tear shreds shredding tears tearing tore torn rip rips ripped ripping shred shredded
CRUMBLE: crumble crumbles crumbly crumbling crumb crumbs friable disintegrate disintegrates disintegrating disintegrated
POWDER: powder powdery powders chalk chalky dust dusty dusts
SHRINK: wizened smaller undersize undersized shrink shrinks shrinking shrinkage shrank shrunk shrunken shrivel shrivels shriveled shrivelled shriveling contract contracted contracting withered wither
RAISIN: raisin raisins prune prunes sultana pruney
WRINKLE: scrunches scrunch wrinkle wrinkles wrinkled wrinkly wrinkling crinkle crinkles crinkled crinkly crinkling pucker puckers puckered crease creases creased rucked crepe crepey crumpled rumpled scrunched
SWELL: swell swells swelling swelled swollen puff puffs puffed puffy puffing bulge bulges bulged bulging bloat bloated balloon balloons ballooned ballooning inflated
GROW: grow grows growing grew grown bigger larger oversize oversized
COLLAPSE: collapse collapses collapsed collapsing sunken sink sinks sinking sank sunk deflate deflates deflated slump slumped slumps pancaked pancake souffle soufflé
FALL: fall falls falling fell fallen drop drops dropped dropping
RISE: rise rises rising rose risen raise raised climb climbed climbing
EXPAND: expand expands expanded expanding expansion
HOLLOW: hollow hollows empty emptiness hollowed
POCKET: pocket pockets void voids cavity cavities cave caves cavern caverns chamber
HOLE: hole holes holey
BUBBLE: bubble bubbles bubbly bubbled bubbling
BLISTER: blister blisters blistered blistering
TINY: miniscule minuscule itsy tiniest tiny small little wee teeny teensy titchy micro
BIG: big large huge massive giant enormous whopping
HARD: hard harder stiff stiffer rigid firm firmer stiffness hardness firmness
SOFT: wilt wilted wilting wilts soft softer squishy squashy mushy flabby floppy limp flimsy saggy drooping droops drooped droop sagged sagging sags squidge droopy wobbly squidgy floppier squishier flop flops flopping squishiness sag sags
HEAVY: heavy heavier heaviest hefty weighty
LIGHTER: lighter lightweight
WEIGH: weigh weighs weighed weight weights weighing
DETAIL: ear ears finger fingers fingertip fingertips nose noses horn horns tusk tusks beak beaks claw claws toe toes tail tails tip tips spike spikes fang fangs tooth teeth
DETAIL: antler antlers wing wings fin snout muzzle pinkie pinky nostril tentacle tentacles talon talons hoof feeler antenna pointy nosed earlobe lobe wingtip wingtips eartip eartips points
ROUNDED: rounded blunt blunted stubby stumpy stub stubs stump stumps nub nubs snub nubby stubbier knob knobs
SHORT: short shorter
SHINY: shiny glossy glassy glazed gloss shine shines sheen shinier
DULL: dull matt matte satin duller
RAGGED: ragged jagged raggedy tattered
DENSE: dense denser density
BOTTOM: bottom base underside underneath lowest bottoms
INSIDE: inside middle core center centre interior heart innards guts insides within
OUTSIDE: outside exterior outer outermost
SURFACE: surface surfaces
CUT: cut cuts cutting sliced slice slices section sectioned slit sawed sawn
THROUGH: through throughout
EVERYWHERE: everywhere allover
FLASH: flash flashing flashed flashy
LEAK: oozing leak leaks leaked leaking overflow overflowed overflowing spilled spilt erupt erupted erupting squirted oozed spewed
SEAM: seam seams parting
FAST: fast faster quick quickly quicker rapid rapidly
SLOW: slow slower slowly sluggish lazy sleepy slowed
FOREVER: forever ages yonks
CUP: cup cups bucket buckets tub beaker pail jug
YELLOW: yellow yellows yellowed yellowing yellowy yellower jaundiced nicotine
BROWN: brown browned browning brownish
BURN: burn burnt burned burning burns scorch scorched scorching char charred singe singed cooked overcooked toast toasted baked overheated
COLOR: color colors colored colour colours coloured coloration tint tints tinted pigment pigments pigmented hue shade shades
STREAK: streak streaks streaky streaked stripe stripes striped stripy stripey band bands banded banding
SWIRL: swirl swirls swirly swirled marble marbled marbling marbles
SPECK: bits speck specks specs granule granules grain grains seed seeds nugget nuggets shard shards
GRIT: grit gritty sand sandy gravel gravelly
MOLD: mold molds mould moulds molding moulding silicone
DEMOLD: demold demolds demolded demolding demould demoulded demoulding unmold unmolded unmould unmoulded
PAINT: paint paints painted painting paintwork primer primers primed priming undercoat topcoat basecoat lacquer enamel varnish clearcoat sealer acrylic acrylics emulsion repainted paintjob airbrushed airbrush
SKINCOAT: latex elastomer slush slushed skincoat
BOND: bond bonded bonding bonds adhere adhered adheres adhesion adhering
STICK: stick sticks sticking stuck
THIN: skinny skinnier narrow thin thinner thinnest thins
THICK: thick thicker thickest thickness
PRINT: print prints printed fingerprint fingerprints thumbprint thumbprints fingermark fingermarks
BEND: bendy bend bends bending bent flex flexes flexed flexing stretch stretches stretched fold folded
SQUEEZE: squeeze squeezes squeezed squeezing squash squashes squashed press presses pressed pressing poke poking poked squish prod prodded
LOOSE: loose baggy slack looser bagging
GAP: gap gaps space spaces
SPONGE: sponge sponges spongy spongey loofah
PINHOLE: pinhole pinholes pinprick pinpricks pinhead pricks pricked prickled
CRATER: crater craters cratered pit pits pitted pitting pock pocks pockmark pockmarks pockmarked
DIMPLE: dimple dimples dimpled dent dents dented dish dishes dished
SWEAT: sweat sweats sweating sweaty weep weeps weeping
PATCH: patch patches patchy blotch blotches blotchy mottled mottling mottle islands island
FISHEYE: fisheye fisheyes cissing
HAZE: whitish whitened veil haze hazy hazed cloudy clouded milky foggy fogged misty bloom blooming bloomed blush blushed blushing frosty frosted
FILL: fill fills filled filling
BREAK: break breaks breaking broke broken snap snaps snapped snapping
TUBE: tube tubes tunnel tunnels pipe pipes channel channels chimney chimneys straw straws worm worms wormhole wormholes
LAYER: layer layers layered layering lamination
DRY: dry dries dried drying drier dryer
WET: wet damp moist soggy
LIQUID: liquid runny soup soupy syrup syrupy treacle
POUR: pour pours poured pouring
REACT: react reacts reacted reacting reaction
HOUR: hour hours hr hrs
DAY: day days
WEEK: week weeks wk wks
GLUE: glued glue welded cemented
RUBBER: rubber rubbery
CROSSWAYS: horizontal horizontally
FROTH: froth frothy frothed frothing foamy fizz fizzed fizzy fizzing
CORNER: corner corners
OPENING: opening sprue spout inlet
EXPLODE: explode exploded burst bursts blew blown
COME: come comes coming came
TAKE: take takes took taken taking
FOAM: foam foams
HOT: hot hotter heat warm heated
FUZZ: fuzz fuzzy furry fur fluff fluffy
POOL: pool pools pooled pooling puddle puddles puddled
DRAIN: drain drained drains ran runs run running
STRONG: strength strong weak weaker weakness
CRYSTAL: crystal crystals crystallised crystallized
STRING: string strings stringy strand strands strandy
HEIGHT: height tall
GOOSE: goosebumps goosebump
CRAWL: crawl crawls crawled crawling retreats retreated recoils
CHEESE: cheese cheesy curd curds
GOOD: good fine perfect lovely great nice sound okay
GRAMS: gram grams kilo kilos kg g gm gms lb lbs pound pounds ounce ounces oz gramme grammes
CLING: clung cling clings clinging grip grips gripped gripping
STAY: stay stays stayed staying remain remains remained
HIDE: leathery leather hide suede velvet velvety
FOREHEAD: forehead eyebrow eyebrows brow cheek cheeks chin jaw neck temple temples belly chest shoulder shoulders thigh crown cheekbone cheekbones eyesocket socket sockets
DISCOLOR: discolor discolored discoloured discolour discoloration discolouration stain stains stained staining
PEEP: peeping peeks peeking peek peeps
FAT: fat fatter fattened fattening chubby
CONCAVE: concave
JOIN: meets meet join joined joins joining merge merged merges merging knit knitted fuse fused met
SLIDE: slide slides sliding slid slip slips slipped slipping slithers
DOME: dome domes domed doming
BUMP: bump bumps bumpy pimple pimples zit zits boils pustule pustules
CRUST: crust crusty crusts scab scabs scabby
RIPPLE: ripple ripples rippled ripply rippling
UNEVEN: uneven unevenly inconsistent irregular varies vary varying
HURT: hurt hurts
BITTEN: bitten bite bites chewed nibbled gnawed
SOAK: soak soaks soaked soaking absorb absorbs absorbent
RUB: rub rubs rubbing scuff scuffs scuffed
CLEAN: clean cleanly spotless
ATTACH: attached attach attaches
DOUBLE: double doubled doubles
PRY: pry pried prise prised crowbar lever levered wrestle wrestled yank yanked tug tugged struggle struggled fight fought battle battled chisel chiselled
COLLAPSE: subside subsides subsided imploded implode crashed
SHRINK: dwindled emaciated
SWELL: distended dilated bulbous rotund bloating
STICKY: adhesive
OIL: lard lardy lube vaseline petroleum margarine
PEEL: unstick shed shedding sheds sloughing flapping unglued strips stripped stripping
FLAKE: scaly scurf flakey
CRACK: fracture fractures fractured fracturing shatter shattered shatters splintered
SPLIT: gape gaping gapes
TEAR: slashed sheared shear shears ripper
POWDER: flour soot ash talc powdered
WRINKLE: furrow furrows furrowed gather gathers gathered ruffled
HARD: inflexible unyielding unbending tough
SOFT: pliable yielding spineless squeezy wimpy
ROUNDED: stunted truncated
SHINY: mirror polished sleek
RAGGED: tattered shaggy
COARSE: coarse coarser coarsely chunky
MISSING: vanished disappeared
INCOMPLETE: incomplete partial partially unfinished
TUBE: shaft shafts duct ducts burrow burrows bores
POCKET: airpocket
LEAK: seep seeps seeped seeping gush gushed gushing dribble dribbled escaped escapes spews spewing
FAST: instantly immediately speedy
SLOW: dragging lethargic drags dawdling
SWIRL: whirls whorl whorls eddies
STREAK: veined veins vein
SPECK: dots fleck flecks particle particles pellet pellets pips pip
WEDGED: wedged jammed lodged seized
PAINT: glaze gesso varnished enamelled lacquered undercoats topcoats primers
PRINT: impression impressions indentation indentations imprint
SPRINGBACK: resilience resilient
BEND: twist twists twisted
SQUEEZE: pinch pinched pinches compress compressed pushing pushed push knead
GOOD: gorgeous brilliant beautiful ace superb nicely
EXPLODE: pop pops popped
BUBBLECHOC: aero
SUCK: suck sucks sucked sucking
"""

_TOGETHER = """
SKINCOAT: rubber skin; rubber skins; latex skin; latex layer; slush skin; slush coat; slush layer; slush rubber; skin coat; skin coats; skin layer; rubber layer; rubber coat
SKINCOAT: outer rubber; skin rubber; elastomer skin; slushed skin; urethane skin; silicone skin; latex coat; rubber lining; rubber shell; skin coating; rubber face; brushed in skin; slush cast skin
PAINT: top coat; top coats; base coat; clear coat; second coat; first coat; next coat; final coat; third coat; color coat; colour coat; paint job; spray paint; under coat; spray can; last coat; the clear; the coating
FISHEYE: fish eye; fish eyes; fishes eyes
PINHOLE: pin hole; pin holes; pin prick; pin pricks; pin sized holes; needle holes; needle size; needle pricks; needle marks
PRINT: finger print; finger prints; thumb print; thumb prints; finger mark; finger marks; thumb mark
POTLIFE: pot life; working time; work time; open time; time to pour
PEEL: come off; comes off; coming off; came off; come away; comes away; coming away; came away; comes apart from; lets go; let go; letting go; pull off; pulls off; pulled off; rubs off in rolls
REACH: get up to; got up to; get to; got to; reach; reached; reaches; make it to; made it to; come up to; came up to; get into; got into; go into; went into; get as far as; got as far as
RISE: came up; come up; coming up; comes up; went up; goes up; shot up; go up; going up
FALL: went down; go down; going down; went back down; sank back; settled back; back down; down again
TOOFAST: too fast; so fast; faster than; quicker than; too quick; too quickly; really fast; very fast; too early; too soon; in seconds
TOOSLOW: too slow; so slow; slower than; really slow; very slow
TOOHOT: too hot; so hot; that hot; very hot; really hot; red hot; boiling hot
TAPETEST: tape test; cross hatch; crosshatch
STICKY: sticks to my; stick to my; stuck to my; clings to my; cling to my; sticks to your; sticks to gloves; sticks to everything; stick to everything; grabs my; sticks to me; sticks to you; stuck to everything; sticks to itself; dust sticks; fluff sticks; hair sticks
!CURE: uncured; undercured; under cured; unset
CURE: firm up; firmed up; go hard; went hard; gone hard; goes hard; going hard; set up; set hard; turn solid; went solid; go solid; fully set; dry out; dried out; dries out; go firm
!FILL: unfilled; underfilled; part filled; under filled
!MIX: unmixed; undermixed; not mixed; badly mixed; poorly mixed
!BOND: unbonded; debonded; come adrift; parted company; part company; come unstuck; came unstuck; works loose
NOTHINGYET: nothing happened; nothing happening; nothing is happening; nothing going on; no reaction; nothing doing; just sat there; sat there; just sits there; sits there; no sign of
STRAIGHTAWAY: straight away; right away; before i; before we; no time; before id; before i could; before we could; while stirring; while mixing; still stirring; still mixing
LIGHTER: feather light; feather weight; featherlight; featherweight; light weight
HEAVY: heavy weight; heavyweight
TORNOFF: broke off; broken off; breaks off; snapped off; tore off; torn off; ripped off; sheared off; came off in
COLLAPSE: caved in; cave in; caves in; caving in; fell in; falls in; fall in; gave out; sat down; sunk in; let itself down
WEDGED: stuck fast; stuck solid; stuck tight
COMEOUT: come out; comes out; coming out; get out; got out; getting out; pull out; take out; move out; budge; demold it; slide out
GOOSE: goose bumps; goose pimples; goose flesh
PEEL: fall off; falls off; falling off; fell off; lifts off; pulls away from; comes loose; came loose
COMEAPART: come apart; comes apart; came apart; coming apart; pull apart; pulls apart; peels apart; falls apart; fall apart; falling apart; fell apart; falls to bits; falls to pieces; breaks up; opens up like
GOOFF: go off; goes off; went off; gone off; going off; kick off; kicked off; kicks off
GOOFF: kick; kicks; kicked; kicking
SPRINGBACK: spring back; springs back; come back; comes back; bounce back; bounces back; recover; recovers; recovery; spring; springs; bounce; bouncy; springy; rebound
SEETHROUGH: see through; see thru; see thro; translucent; transparent
MISSING: is not there; are not there; was not there; not there; missing; absent; lacking; gone missing; lost its; lost their; cut off short
EVERYWHERE: all over; all round; all around; every where; from top to bottom; top to toe; the whole way round
INSIDE: all the way through; right through; all through; right the way; the whole way through; cut face; fresh cut; cut side; cut surface
FOREVER: for ever; a long time; so long; too long; donkeys years; an age; twice as long; longer than; much longer
OVERNIGHT: over night; overnight; next day; next morning; by morning; following day; following morning; over the weekend; hours later; the day after; an hour later; by tea time; by teatime; by lunch; by lunchtime; by evening; by the evening; by the afternoon; later on; hours after; few hours; next few hours; couple of hours; days after; hour later; hours on; afterwards; a day later; next morning; in the night; during the night
EVERYWHERE: whole thing; the whole lot; whole part
SEAM: parting line; parting lines; split line; seam line; mold line; mould line
BROWN: tan center; dark center
POCKET: air lock; air trap; trapped air; air pocket; air pockets; pocket of air; air bubble; air space
TACKFREE: tack free
OPENING: pour hole; pour end; pouring hole; filler hole; filler neck; pour opening; where i pour; where i poured; where it was poured; where we poured; pour spout; pouring end; pouring opening; fill hole; sprue hole; pour side
LEFTBEHIND: left behind; stayed behind; left in; left on; stayed in; stayed on; still in; still on; stayed up; remained in; stayed inside; still inside; left inside; stuck up in; left up
SKINSELF: own skin; self skin
MEMORYFOAM: memory foam
SHORT: half filled; half full; under filled; underfilled; ran out; run out; halfway; stopped short; stops short; fell short; short of
TOOSOFT: no body; no support; no bounce
HARD: no give; no flex; not flexible
LIGHTER: too light; really light; very light; so light; way light; is light; feels light; light as; came out light; weighs too little; weighs nothing; weigh nothing; below weight
HEAVY: weighs a ton; weigh a ton; weighs a tonne; like lead; overweight; too much weight; weighs too much
BIGGER: too big; puffed up; swelled up; got bigger; gets bigger; getting bigger
SHRINK: too small; gone small; gone smaller; got smaller; went small; gets smaller; getting smaller; sucked in; suck in; sucking in; drawn in; caved in overnight; pulled in on itself
BUBBLECHOC: aero bar; aero chocolate; bubbly chocolate
SWISSCHEESE: swiss cheese; emmental; gruyere
SMELL: smelling whiffy smells of; smells like; smell of
DETAIL: the thumb; thumbs came; thumb came; thumb tip; thumb stayed
OVER: over by; heavier by; over target; over the target; over what
HEAVY: more than it should weigh; weighs more; weigh more; too dense; over weight; up on weight; weight is up; weight up; weighs double; twice the weight
LIGHTER: under weight; underweight; weighs less; weigh less; less than it should; short on weight; down on weight; under target; lightweight; weight is down; not heavy enough; only weighs; half the weight
BEND: making a fist; makes a fist; make a fist
"""

_STOP = """
a an the this that these those it its he she they we you i me my mine our your his her their them him us im ive id ill weve youve theyre were theres heres hes shes
is are was be been being am do does did done doing have has had having will would could should shall may might must
of in on at to from for with by as about into onto over up down again so if or than then when where while because cause cos since just even ever very really quite rather pretty
what which who whom how why there here some any other another such same own s t im ok okay hi hello hey please thanks thank cheers sorry yes yeah yep mate guys folks
get gets got getting make makes made making seem seems seemed look looks looked looking feel feels felt feeling want wants wanted try tried going go goes went gone
like kind sort thing things stuff something bit lot lots load loads basically actually literally honestly obviously kinda sorta bloody damn totally completely absolutely properly
one ones two three four five six seven eight nine ten still already yet also too well now today always usually normally only much many more most less few enough
way all every each both out off casting castings cast castings piece part parts u ur r w n ya dont know think thought reckon suppose guess says say said tell told
see seen saw found noticed notice can may between against after before during until till under above across along around round near next last first per upon
head mask hand hands leg arm body prop goblin dragon troll sword club puppet costume creature monster somebody someone anybody everything anything everyone
bad badly awful terrible horrible rubbish wrong problem trouble issue help fault weird strange odd sign signs trace hint particularly especially remotely slightly sort whatsoever
"""

_NOT = """
not no never without none nothing nothings neither nor cannot cant wont dont doesnt didnt isnt arent wasnt werent hasnt havent hadnt wouldnt couldnt shouldnt aint hardly barely scarcely
nowhere refuses refused refusing fails failed lacks lack didn doesn isn wasn won
"""

# Said, but not of the part: taken out before "not" and "no" are read.
_IDLE = """
my finger; my fingers; your finger; your fingers; two fingers; our fingers; my nose; your nose; my hands; with a finger; a finger; a fingernail;
hardly see; barely see; cannot see; cant see; could not see; cant really see; no idea; not sure; do not know; dont know; dunno; no matter; no more; not only; not just; no problem; no doubt; nothing changed; nothing else changed; not to worry; no clue; cant tell; cannot tell;
cant describe; not sure how; no bother; no joke; cant believe; never seen; never had this; never happened; not that i know; dont understand; no change; not too bad; not bad; didnt change; why not; cant remember
"""

# Weak alone: they support other words, but a symptom needs more than these.
_WEAK = """
open FOAM back half GOOD HOT COME TAKE DRAIN REACH time day DAY HOUR WEEK top side end line lines number night morning hand place side water room old new light dark white black cold
left right high low hold held move turn work start started stop stopped long point POUR MOLD OUTSIDE SURFACE INSIDE BIG TINY GROW FALL BOTTOM CUP GAP FAST SHORT THROUGH EVERYWHERE CUT FILL BREAK CLEAN SLIDE RUB JOIN HURT OVERNIGHT releas dog need rain
OPENING FOREVER OVERNIGHT PAINT SKINCOAT CORNER BOND WEIGH STAY FOREHEAD LAYER COLOR DRY skin RUBBER REACT normal free full plain touch
card fish paper glass tape sun bath car coffee wood cake bread egg shell apple butter lead feather brick board window test finish mark clear ring rings spot spots expect person actor coat
lump lumps glove gloves thumb nail face eye eyes back match minute second seconds minutes year years month months target size wall
"""

# How callers type.
_SPELLING = """
thru=through thro=through tho=though bcos=because coz=because evrywhere=everywhere everwhere=everywhere everyware=everywhere wks=weeks mins=minutes secs=seconds
overnite=overnight nite=night lite=light teh=the hte=the adn=and nad=and agian=again allready=already whn=when wen=when wth=with ovr=over abt=about ppl=people plz=please pls=please alot=lots whats=what
flyin=flying cuz=because gonna=going wanna=want dunno=unsure oot=out aw=all wasnae=not didnae=not isnae=not cannae=not willnae=not doesnae=not nae=not naw=no nowt=nothing owt=anything summat=something
pant=paint pain=paint paitn=paint piant=paint molud=mold mold=mold fil=fill fils=fills hols=holes eers=ears fomed=foamed leek=leak leeks=leaks peal=peel peals=peels pealing=peeling pealed=peeled grey=gray tyre=tire
tyres=tires fibre=fiber rubbed=rub layed=laid crumbely=crumbly stickey=sticky tackey=tacky brittel=brittle
"""

# Everyday words that are not typing errors, however near they come to one of ours.
_PLAIN = """
speak much jump jumps over leeds house home moody could gold bold told road read lead load need seen send same some come came name game time tide lime line mine nine
week weak meet meat heat beat seat neat real deal meal feel food good wood book cook took kook door floor poor phone alone stone done gone none bone tone post past last lost cost most
price order orders ordered delivery deliver shipping shipped ship shop shops stock account invoice receipt refund manager called calling call calls person people birthday happy holiday
weather friday monday tuesday wednesday thursday saturday sunday january february march april june july august september october november december hiring hire job jobs park parking
address email mail website online credit money cash pay paid cost costs cheap expensive quote sale sell sold buying bought buy hours lunch dinner breakfast coffee drink beer tea
dog cat horse bird car bus train plane bike road street town city country world war news music film movie song game team match score play plays played win won lose
love hate hope wish care dear best worst first second third number numbers letter letters word words page story question questions answer answers class school teacher student
doctor nurse police fire ambulance family mother father brother sister wife husband child children baby boy girl man men woman women friend friends boss staff guy
again never always often maybe perhaps please thanks sorry welcome goodbye hello yes morning afternoon evening tonight tomorrow yesterday today later soon early
packaging provided published finished retain based base give given path least last marked market property single stated started listed location handling matter once starting
produced changing processing contact contract checking stream width converted covered tool filter cache seek port power remainder stable leading font different difference driver
latter sent speed arise raises chain template separately signed package packaged packed fair relation convey wrapped blocking contrast fork connected collected remote pointed forth
discovered plan plans displayed gain strongly reduction wherever whenever whatever brackets rank charged shown show leaving shortcut rejected corrected heard hear heart searched casing closing
contrary overhead interval differing storing clicking tuned sleep skipped former event events finer neater fear fits fit sing separation selling sake backed locking explanation powers fisher
folder wording patched rare blanks tied speaking goods form forming stopping flattening shapes shared chat putting closer wait waiting waits noise nearby reaching shortest findings warned drives
mixing trial choosing crashing sick carbon suits drawings wanting stronger moisture mixture trip cookie flattened finishing pots pace trade curve curved became live lies lie hope ageing
standing warmed feel feels fees far fare fire fine find finds finding finder stage staged shade shades shape shaped reset hint create created creating creature alter altered limit listen
grade graded grand ground group grows brand brush bench beach reach wash washed watch water waste whole while white write wrote wrong world worn wore worry worse
skill still stale stair star stare state site size side sides ride rode rule rolled rolling robe rope rose race raced rate rated range large change charge
battery printer computer password course train reset batter shall should would could might must will cannot think thought knew know known mean means meant sense idea reason point fact case example kind sort type types
large small great little long short high young early important different able available free full sure certain clear close open public private general common special
"""

BREAKS = frozenset("but and also plus although though however except yet whereas .".split())
THROUGH_NOT = frozenset("or nor any a an the much very really at all even quite that too so been be being have has got get to of in for its it is are was".split())


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

ANCHORS = frozenset(
    "FOAM MOLD DEMOLD skin PAINT SKINCOAT RUBBER DETAIL RISE CURE POUR SEAM SURFACE STICKY PINHOLE CRUMBLE SHRINK COLLAPSE BLISTER CRATER WRINKLE PEEL FLAKE CRACK SWELL BUBBLE FISHEYE SMELL SWISSCHEESE GRIT YELLOW GOOFF SWIRL STREAK HOLLOW POCKET SPONGE DENSE SPECK DIMPLE EXPAND FROTH POTLIFE TEAR SPLIT SCORCH FLASH CRYSTAL RAISIN SQUEEZE SPRINGBACK GOOSE resin mix stir".split()
)
