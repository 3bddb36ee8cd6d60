package commands_test

import (
	"encoding/csv"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/lumber"
	"tallystick/commands"
)

func TestAWoodIsOfferedForWhatIsTypedAndForASlip(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for typed, want := range map[string]string{
		"hard": "hard maple", "hrad maple": "hard maple", "map": "maple, sugar", "chery": "cherry", "sugar": "maple, sugar", "Doug": "doug fir",
	} {
		var offered []string
		for _, choice := range c.set.Suggest(t.Context(), commands.Request{Path: "species", Options: map[string]string{}}, "name", typed, 25) {
			offered = append(offered, choice.Value)
		}
		assert.Contains(t, offered, want, typed)
		assert.LessOrEqual(t, len(offered), 25)
	}
}

func TestEveryWoodThatIsOfferedHasItsCard(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, name := range append(lumber.SpeciesNames(), lumber.TradeNames()...) {
		reply := c.ask("ann", false, "/species name:"+name)
		require.Equal(t, commands.Answered, reply.Outcome(), "%s: %s", name, reply.Sentence())
		assert.Contains(t, reply.Plain(), "Wood Handbook", name)
		s, _, err := lumber.FindSpecies(name)
		require.NoError(t, err)
		for _, from := range []lumber.Provenance{s.StrengthFrom, s.ShrinkageFrom, s.MovementFrom} {
			if from.FromMemory() {
				assert.Regexp(t, `[Ff]rom memory`, reply.Plain(), "%s keeps its from-memory mark", name)
			}
		}
	}
}

// facts reads a table of facts by the first column; later rows of a topic are joined on.
func facts(t *testing.T, name string) map[string]string {
	t.Helper()
	text, err := os.ReadFile("../testdata/published/" + name)
	require.NoError(t, err)
	reader := csv.NewReader(strings.NewReader(string(text)))
	reader.Comment = '#'
	records, err := reader.ReadAll()
	require.NoError(t, err)
	by := map[string]string{}
	for _, r := range records[1:] {
		by[r[0]] += strings.Join(r[1:], " | ") + "\n"
	}
	return by
}

// The published facts say what a mark's code means; the answer holds the same figures
// (ISPM 15 as collected in ispm15.csv).
func TestTheFiguresOfATreatmentAreTheStandards(t *testing.T) {
	t.Parallel()
	published, c := facts(t, "ispm15.csv"), newChat(t)
	checked := 0
	for code, figures := range map[string][]string{
		"HT": {"56", "30"}, "DH": {"60"}, "MB": {"24", "bark"}, "SF": {"2018", "24", "48"}, "KD": {"HT"},
	} {
		says := c.ask("ann", false, "/stamp text:XX-1 "+code).Plain()
		for _, figure := range figures {
			require.Contains(t, published[code], figure, code)
			assert.Contains(t, says, figure, code)
			checked++
		}
		if strings.Contains(published[code], "memory") {
			assert.Contains(t, says, "from memory", "%s keeps its from-memory mark", code)
		}
	}
	assert.Equal(t, 9, checked)
}

// Where an answer can hurt, the caution is there with an issuer the table of cautions
// names (safety-cautions.csv), and never more than two.
func TestWhatCanHurtHasItsCaution(t *testing.T) {
	t.Parallel()
	published, c := facts(t, "safety-cautions.csv"), newChat(t)
	for _, say := range []struct{ line, topic, issuer, words string }{
		{`/weight species:white oak size:84 x 36 x 2 in`, "lifting", "NIOSH Publication 94-110", "23 kg"},
		{`/weight species:white oak boards:20 @ 1x6x8'`, "lifting", "NIOSH Publication 94-110", "51 lb"},
		{`/deflection span:36 width:12 depth:1 load:50 species:ash`, "load-bearing", "EN 1728", "twice the expected load"},
		{`/resin size:10 x 10 x 2 in`, "resin", "HSE Research Report RR079", "sensitises"},
		{`/resin size:10 x 10 x 2 in`, "deep pour", "data sheets", "overheat"},
		{`/finish area:10 kind:oil`, "oily rags", "NFPA safety tip sheet", "under water in a closed metal can"},
		{`/finish area:10 kind:two-pack`, "two-pack/isocyanate", "HSE", "air-fed"},
		{`/stamp text:XX-1 MB`, "stamped pallet/dunnage", "ISPM 15", "food"},
		{`/stamp text:none`, "stamped pallet/dunnage", "ISPM 15", "food"},
		{`/stamp text:XX-1 HT`, "nails", "OSHA woodworking eTool", "magnet"},
	} {
		require.Contains(t, published[say.topic], say.issuer)
		require.Contains(t, strings.ToLower(published[say.topic]), strings.ToLower(say.words))
		reply := c.ask("ann", false, say.line)
		require.Equal(t, commands.Answered, reply.Outcome(), "%s: %s", say.line, reply.Sentence())
		assert.LessOrEqual(t, len(reply.Cautions), 2)
		found := false
		for _, caution := range reply.Cautions {
			found = found || strings.Contains(caution.Issuer, say.issuer) && strings.Contains(caution.Text, say.words)
		}
		assert.True(t, found, "%s: %v", say.line, reply.Cautions)
	}
	light := c.ask("ann", false, "/weight species:white oak size:12 x 12 x 1 in")
	assert.Empty(t, light.Cautions, "what one person lifts with ease has none")
	shallow := c.ask("ann", false, "/resin size:10 x 10 x 1/4 in")
	assert.Len(t, shallow.Cautions, 1)
}

// Figures are plain decimals under keys that stay.
func TestTheFiguresOfWoodArePlain(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, command := range c.set.Commands() {
		switch command.Path {
		case "species", "weight", "moisture", "movement", "deflection", "finish", "resin", "stamp", "sawlog":
		default:
			continue
		}
		for _, example := range command.Examples {
			reply := c.ask("ann", false, example)
			require.Equal(t, commands.Answered, reply.Outcome(), "%s: %s", example, reply.Sentence())
			for _, f := range reply.Figures {
				assert.Regexp(t, regexp.MustCompile(`^-?\d+(\.\d+)?$`), f.Value, "%s %s", example, f.Key)
				assert.Regexp(t, regexp.MustCompile(`^[a-z][a-z_]*$`), f.Key)
			}
			for _, table := range reply.Tables {
				assert.LessOrEqual(t, len(table.Columns), 4)
			}
		}
	}
}
