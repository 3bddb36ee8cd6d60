package commands

import "strings"

// A role is what a word says about the amount beside it.
type role string

// The roles. An amount's kind and its role together settle what it is read as.
const (
	costRole     role = "cost"     // money paid out
	fixedRole    role = "fixed"    // the fixed part of a fee, or a percentage fee
	feeRole      role = "fee"      // a percentage fee
	shareRole    role = "share"    // what a shop keeps
	haggleRole   role = "haggle"   // how far a buyer brings the price down
	taxRole      role = "tax"      // sales tax
	moistureRole role = "moisture" // water in the wood
	wantedRole   role = "wanted"   // a rate wanted for an hour, or a price hoped for
	lowestRole   role = "lowest"   // the least an hour may bring
	overheadRole role = "overhead" // what an hour in the shop costs
	driveRole    role = "drive"    // a distance driven
	eachWayRole  role = "each way" // the distance is one way of two
	workRole     role = "work"     // a named stage of the work
	timeRole     role = "time"     // time in general
	priceRole    role = "price"    // a price asked, offered or hoped for
)

// roleWords are the words of each role. A word may have several: "spent 84" is
// money and "spent 6 h" is time.
var roleWords = map[role]string{
	costRole: "material materials mats wood woods lumber timber board boards plank planks slab slabs stock log logs glue oil finish varnish lacquer shellac " +
		"stain paint wax epoxy resin screw screws nails bolts hardware hinge hinges knobs handles fittings brackets sandpaper abrasives dowels ply plywood " +
		"veneer supplies consumables receipt receipts blade blades bits steel fabric foam glass tolls toll parking ferry fuel petrol " +
		"packaging shipping helper spent paid cost costs bought expenses outlay",
	fixedRole:    "fee fees listing stall booth pitch entry",
	feeRole:      "fee fees card processing payment platform",
	shareRole:    "shop gallery store takes take taking keeps keep kept cut commission consignment share",
	haggleRole:   "haggle haggling haggles haggled bargain bargaining knock negotiate negotiation discount off",
	taxRole:      "tax taxes vat gst hst",
	moistureRole: "moisture mc",
	wantedRole:   "want wanted wants rate wage pay earn like need needs",
	lowestRole:   "least minimum min lowest floor below under",
	overheadRole: "overhead overheads rent",
	driveRole:    "drive driving drove driven trip haul hauling fetch fetching collect collecting delivery deliver",
	eachWayRole:  "each-way one-way",
	workRole: "milling sanding gluing glue-up finishing assembly assembling shaping cutting planing jointing oiling painting carving turning " +
		"sawing design designing building prep joinery scraping waxing drilling routing chopping fitting",
	timeRole:  "spent took takes take time hours total",
	priceRole: "asking ask asks asked offer offered offers sell sells sold selling price priced prices worth list want wanted",
}

// rolesOf finds a word's roles.
var rolesOf = func() map[string][]role {
	all := map[string][]role{}
	for _, r := range []role{costRole, fixedRole, feeRole, shareRole, haggleRole, taxRole, moistureRole, wantedRole, lowestRole, overheadRole,
		driveRole, eachWayRole, workRole, timeRole, priceRole} {
		for word := range strings.FieldsSeq(roleWords[r]) {
			all[word] = append(all[word], r)
		}
	}
	return all
}()

// verbs are words of a role that say nothing when no amount stands by them.
var verbs = wordSet("want wanted wants like need needs pay paid cost costs took take takes taking keep keeps kept spent price priced prices ask asks asking sell sells " +
	"selling sold worth bought drive driving drove driven time hours total earn rate offer least list fetch collect")

// joining are the small words between the parts.
var joining = wordSet("a an and the of for on in at to with from by as is are was were be been it its it's i i'd i'm i've i'll we our my me mine you your this that these those " +
	"or so but plus also then than about around roughly approx approximately circa ca some any what what's how much many should could would can do does did done " +
	"charge know tell please hi hello hey thanks thank there here if not just only all altogether both out up into over after before made make making " +
	"build built building have has had got get gets getting put used using use lot bit per each or which who whom his her they them their when where will " +
	"incl including inc work piece one thing someone somebody people think fair-price right now today yesterday really very quite way too said says say ok okay let's " +
	"back round gave give goes go going come comes came local locally community finished ready it'll ve ll im id venue money set worked between away size sizes measures measuring")

// describing are the words that make a piece one of its kind. They change no sum.
var describing = wordSet("hall hallway garden dining kitchen bedside entry entryway side corner porch patio kids child's small large big little tall low long wide narrow deep old new " +
	"rustic plain simple live edge live-edge reclaimed salvaged found solid sturdy floating wall rough sawn found nice lovely top tops style modern shaker farmhouse " +
	"oiled waxed painted stained turned carved handmade custom commissioned outdoor indoor heavy light thick thin slim")

// pieces are kinds of piece, whether or not the community sorts its log by them.
var pieces = wordSet("bench stool chair table desk shelf bookcase bookshelf cabinet box bed frame planter tray cupboard dresser sideboard nightstand console " +
	"crib cradle chest trunk rack ladder lamp bowl door gate trellis birdhouse easel mirror mantel stand headboard toy ottoman credenza wardrobe hutch counter")

// notMeant are ordinary words a slip of the finger away from a word known here.
var notMeant = wordSet("beach popular cheery point print stick stack coats while large taken great boats paint's stuck pause under broads bought-in would there their " +
	"other three seven eight pound pounds white black brown green beast feast lease handle stained panels panel candles spend place plans plane planks prince party " +
	"mental natural material-wise")

// writtenCounts are the counts that are written out.
var writtenCounts = map[string]int64{"two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10, "twelve": 12, "dozen": 12, "pair": 2}

// countable are words for what is bought by the piece: "4 hinges" may be four of
// them or an amount.
var countable = wordSet("boards board planks plank slabs slab logs log screws nails bolts hinges hinge knobs handles brackets fittings dowels blades bits receipts")

// otherUnits stand behind a number that is no money.
var otherUnits = wordSet("m kg g lb lbs oz l litre litres liter liters gal gallon gallons ml qt pint pints ft feet foot in inch inches cm mm yd yard yards " +
	"metre metres meter meters month months year years coat coats sheet sheets minute minutes piece pieces pc pcs k x")

// askedUnits are units of which a number is asked about, with what to write instead.
var askedUnits = func() map[string]string {
	units := map[string]string{}
	for word := range wordSet("day days week weeks weekend weekends evening evenings") {
		units[word] = "the hours, such as 12 h"
	}
	for word := range wordSet("cent cents pence p") {
		units[word] = "it as a part of the whole coin, such as 0.30"
	}
	return units
}()

// coins are the words people have for a currency, with its sign or code.
var coins = map[string]string{"dollar": "$", "dollars": "$", "bucks": "$", "buck": "$", "euro": "€", "euros": "€", "quid": "£", "pound": "£", "pounds": "£",
	"sterling": "GBP", "yen": "JPY", "kroner": "kr", "kronor": "kr", "francs": "CHF", "zloty": "PLN", "rupees": "INR", "rand": "ZAR"}

// coinCodes are the currency codes read as such: those that are words themselves,
// such as ALL, TOP and TRY, are not.
var coinCodes = wordSet("usd cad aud nzd sgd hkd eur gbp chf sek nok dkk isk jpy cny inr pln czk huf ron zar brl mxn krw ils thb idr myr php kwd uah")

// signs are the marks that stand apart from their amount: "25 €".
var signs = wordSet("$ € £ ¥ ₹ zł kr Kč Fr R R$ US$ C$ CA$ A$ NZ$ ₩ ₪ ₺ ₱ AU$ HK$ NT$ MX$ CN¥ JP¥ ₴ ₽ ฿ ₫")

func wordSet(list string) map[string]bool {
	set := map[string]bool{}
	for word := range strings.FieldsSeq(list) {
		set[word] = true
	}
	return set
}

// meantWord is the word of a role that a mistyped one most likely meant: five
// letterRun or more, the same first letter, one slip, two in eight letterRun or more.
func meantWord(word string) (string, bool) {
	return nearWord(word, longRoleWords)
}

var longRoleWords = func() []string {
	var list []string
	for _, r := range []role{costRole, feeRole, shareRole, haggleRole, moistureRole, lowestRole, overheadRole, workRole} {
		for word := range strings.FieldsSeq(roleWords[r]) {
			if len(word) >= leastSlipped {
				list = append(list, word)
			}
		}
	}
	return list
}()

// leastSlipped is the shortest word that is looked at for a slip of the finger:
// shorter ones are too close to one another.
const leastSlipped = 5
