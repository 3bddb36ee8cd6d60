package measure

// dimension is what a unit measures. Only units of one dimension convert.
type dimension int

const (
	lengthUnit dimension = iota
	areaUnit
	volumeUnit
	massUnit
	temperatureUnit
	forceUnit
	pressureUnit
	torqueUnit
	densityUnit
	coverageUnit
)

// dimensions gives each dimension its name and a unit to try.
var dimensions = [...]struct{ name, example string }{
	lengthUnit:      {"length", "mm or ft"},
	areaUnit:        {"area", "m2 or sq ft"},
	volumeUnit:      {"volume", "m3 or bf"},
	massUnit:        {"mass", "kg or lb"},
	temperatureUnit: {"temperature", "°C or °F"},
	forceUnit:       {"force", "N or lbf"},
	pressureUnit:    {"pressure", "kPa or psi"},
	torqueUnit:      {"torque", "N·m or lbf·ft"},
	densityUnit:     {"density", "kg/m3 or lb/ft3"},
	coverageUnit:    {"coverage", "m2/L or ft2/US gal"},
}

// namedUnit is a unit a quantity can be given in.
type namedUnit struct {
	symbol    string
	name      string // in the singular
	dimension dimension
	// size is the unit in the SI unit of its dimension, as an exact decimal or
	// quotient. It is empty for units whose size the unit library has right.
	size string
	// aliases are further spellings. Plurals in s and what unitKey makes alike are
	// found without an entry.
	aliases []string
}

// The sizes follow from the exact definitions 1 in = 0.0254 m, 1 lb = 0.45359237 kg
// and g = 9.80665 m/s² (NIST SP 811, 2008, appendix B.8). A board foot is 144 in³, a
// cord 128 ft³, an acre 43,560 international square feet, a stone 14 lb. A stere and
// the raummetre are 1 m³ stacked, as the cord is, and the festmetre 1 m³ of solid wood
// (trade practice, from memory).
var namedUnits = []namedUnit{
	{"µm", "micrometre", lengthUnit, "0.000001", []string{"um", "micron"}},
	{"mm", "millimetre", lengthUnit, "0.001", nil},
	{"cm", "centimetre", lengthUnit, "0.01", nil},
	{"m", "metre", lengthUnit, "1", nil},
	{"km", "kilometre", lengthUnit, "1000", nil},
	{"thou", "thousandth of an inch", lengthUnit, "0.0000254", []string{"mil"}},
	{"in", "inch", lengthUnit, "0.0254", []string{"inches", `"`, "''"}},
	{"ft", "foot", lengthUnit, "0.3048", []string{
		"feet", "'", "lf", "lin ft", "lineal foot", "lineal feet", "linear foot", "linear feet", "running foot", "running feet",
	}},
	{"yd", "yard", lengthUnit, "0.9144", nil},
	{"mi", "mile", lengthUnit, "1609.344", nil},

	{"mm²", "square millimetre", areaUnit, "0.000001", nil},
	{"cm²", "square centimetre", areaUnit, "0.0001", nil},
	{"m²", "square metre", areaUnit, "1", nil},
	{"ha", "hectare", areaUnit, "10000", nil},
	{"in²", "square inch", areaUnit, "0.00064516", nil},
	{"ft²", "square foot", areaUnit, "0.09290304", []string{"sf"}},
	{"yd²", "square yard", areaUnit, "0.83612736", nil},
	{"ac", "acre", areaUnit, "4046.8564224", nil},

	{"mm³", "cubic millimetre", volumeUnit, "0.000000001", nil},
	{"cm³", "cubic centimetre", volumeUnit, "0.000001", []string{"cc"}},
	{"m³", "cubic metre", volumeUnit, "1", []string{"cbm", "festmetre", "stere", "raummetre"}},
	{"mL", "millilitre", volumeUnit, "0.000001", nil},
	{"L", "litre", volumeUnit, "0.001", nil},
	{"in³", "cubic inch", volumeUnit, "0.000016387064", nil},
	{"ft³", "cubic foot", volumeUnit, "0.028316846592", []string{"cf"}},
	{"yd³", "cubic yard", volumeUnit, "0.764554857984", nil},
	{"bf", "board foot", volumeUnit, "0.002359737216", []string{
		"board feet", "bd ft", "bdft", "board ft", "boardfoot", "boardfeet", "fbm",
	}},
	{"MBF", "thousand board feet", volumeUnit, "2.359737216", []string{"mfbm"}},
	{"cord", "cord", volumeUnit, "3.624556363776", nil},

	{"US gal", "US gallon", volumeUnit, "", []string{"usgal", "usgallon"}},
	{"US qt", "US quart", volumeUnit, "", []string{"usquart"}},
	{"US pt", "US pint", volumeUnit, "", []string{"uspint"}},
	{"US cup", "US cup", volumeUnit, "", []string{"uscup"}},
	{"US fl oz", "US fluid ounce", volumeUnit, "", []string{"us floz", "usfloz"}},
	{"imp gal", "imperial gallon", volumeUnit, "", nil},
	{"imp qt", "imperial quart", volumeUnit, "", nil},
	{"imp pt", "imperial pint", volumeUnit, "", nil},
	{"imp fl oz", "imperial fluid ounce", volumeUnit, "", []string{"imp floz"}},

	{"g", "gram", massUnit, "", []string{"gramme"}},
	{"kg", "kilogram", massUnit, "", []string{"kgs", "kilo", "kilogramme"}},
	{"t", "tonne", massUnit, "", []string{"metric ton"}},
	{"oz", "ounce", massUnit, "", nil},
	{"lb", "pound", massUnit, "", nil},
	{"stone", "stone", massUnit, "6.35029318", nil},
	{"short ton", "short ton", massUnit, "907.18474", []string{"us ton"}},
	{"long ton", "long ton", massUnit, "1016.0469088", []string{"imp ton"}},

	{"°C", "degree Celsius", temperatureUnit, "", []string{"c", "celsius", "centigrade"}},
	{"°F", "degree Fahrenheit", temperatureUnit, "", []string{"f", "fahrenheit"}},
	{"K", "kelvin", temperatureUnit, "", nil},

	{"N", "newton", forceUnit, "1", nil},
	{"kN", "kilonewton", forceUnit, "1000", nil},
	{"lbf", "pound-force", forceUnit, "4.4482216152605", []string{"pound force", "pounds force"}},

	{"Pa", "pascal", pressureUnit, "", nil},
	{"kPa", "kilopascal", pressureUnit, "", nil},
	{"MPa", "megapascal", pressureUnit, "", []string{"n/mm2"}},
	{"bar", "bar", pressureUnit, "", nil},
	// One pound-force on one square inch; the library has it rounded.
	{"psi", "pound-force per square inch", pressureUnit, "4.4482216152605/0.00064516", []string{
		"lbf/in2", "lb/in2", "lbs/in2", "pound per square inch", "pounds per square inch",
	}},

	{"N·m", "newton metre", torqueUnit, "1", []string{"nm"}},
	{"lbf·ft", "pound-force foot", torqueUnit, "1.3558179483314004", []string{
		"ft lbf", "ft lb", "lb ft", "foot pound", "pound foot", "pound feet", "ftlb", "ftlbs",
	}},
	{"lbf·in", "pound-force inch", torqueUnit, "0.1129848290276167", []string{
		"in lbf", "in lb", "lb in", "inch pound", "pound inch", "pound inches", "inlb", "inlbs",
	}},

	{"kg/m³", "kilogram per cubic metre", densityUnit, "1", []string{"kilograms per cubic metre"}},
	{"g/cm³", "gram per cubic centimetre", densityUnit, "1000", []string{"g/cc", "g/ml", "kg/l"}},
	{"lb/ft³", "pound per cubic foot", densityUnit, "0.45359237/0.028316846592", []string{"pcf", "lb/cf", "lbs/ft3", "pounds per cubic foot"}},
	{"lb/US gal", "pound per US gallon", densityUnit, "0.45359237/0.003785411784", []string{"lbs/us gal", "pounds per US gallon"}},
	{"lb/imp gal", "pound per imperial gallon", densityUnit, "0.45359237/0.00454609", []string{"lbs/imp gal", "pounds per imperial gallon"}},

	// How far a liquid goes: an area for a volume of it.
	{"m²/L", "square metre per litre", coverageUnit, "1000", []string{"square metres per litre"}},
	{"ft²/US gal", "square foot per US gallon", coverageUnit, "0.09290304/0.003785411784", []string{"sf/us gal"}},
	{"ft²/US qt", "square foot per US quart", coverageUnit, "0.09290304/0.000946352946", []string{"sf/us qt"}},
	{"ft²/imp gal", "square foot per imperial gallon", coverageUnit, "0.09290304/0.00454609", []string{"sf/imp gal"}},
	{"ft²/imp qt", "square foot per imperial quart", coverageUnit, "0.09290304/0.0011365225", []string{"sf/imp qt"}},
}

// customaryUnits are names that mean one thing in the United States and another
// where imperial measures were used.
var customaryUnits = []struct {
	names     []string
	us, other string // symbols; other is what else it may mean
}{
	{[]string{"gal", "gallon"}, "US gal", "imp gal"},
	{[]string{"qt", "quart"}, "US qt", "imp qt"},
	{[]string{"pt", "pint"}, "US pt", "imp pt"},
	{[]string{"fl oz", "floz", "fluid ounce"}, "US fl oz", "imp fl oz"},
	{[]string{"cup"}, "US cup", "250 mL"},
	{[]string{"ton"}, "short ton", "t"},
	{[]string{"ft2/gal", "ft2/gallon", "sf/gal"}, "ft²/US gal", "ft²/imp gal"},
	{[]string{"ft2/qt", "ft2/quart", "sf/qt"}, "ft²/US qt", "ft²/imp qt"},
	{[]string{"lb/gal", "lbs/gal", "pounds/gallon"}, "lb/US gal", "lb/imp gal"},
}

// refusedUnits are names a maker may type for which there is no honest factor.
var refusedUnits = []struct {
	names         []string
	problem, hint string
}{
	{
		[]string{"survey foot", "survey feet", "us survey foot", "us survey feet", "us survey ft", "survey ft", "usft", "ftus"},
		"is a US survey unit, withdrawn after 2022; I convert the international foot", "ft",
	},
	{
		[]string{"survey acre", "us survey acre", "usacre"},
		"is a US survey unit, withdrawn after 2022; I convert the international acre", "acre",
	},
	{
		[]string{"face cord", "facecord", "rick"},
		"is one row of sticks, and its volume depends on how long they are", "cord or ft3",
	},
	{
		// The short names of the festmetre in German and of the fathom in English.
		[]string{"fm"},
		"may be a festmetre, which is a cubic metre of solid wood, or a fathom, which is two yards", "m3",
	},
	{
		[]string{"rm"},
		"may be a raummetre, which is a cubic metre of stacked wood, or a running metre", "m3 or m",
	},
	{
		[]string{"st"},
		"may be a stone, which is 14 lb, or a stere, which is a cubic metre of stacked wood", "stone or m3",
	},
}
