package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// arrows are the only imports allowed between our folders, each with its reason.
var arrows = map[string]map[string]string{
	"calc/measure": {},
	"calc/lumber":  {"calc/measure": "boards are measured"},
	"calc/price":   {"calc/measure": "times and percentages are read by one grammar"},
	"calc/pool":    {},
	"store": {
		"calc/pool":  "records and releases are the pool's own types",
		"calc/price": "a job sheet is the sum of its entries, and the sum is the calc's",
	},
	"commands": {
		"calc/measure": "options are read as measures",
		"calc/lumber":  "board feet are counted",
		"calc/price":   "prices are worked out",
		"calc/pool":    "figures of the shared log are named and written",
		"store":        "what members keep is read and changed",
	},
	"bot/console": {"commands": "a transport carries requests and replies"},
	"bot/discord": {"commands": "a transport carries requests and replies"},
	"cmd/tallystick": {
		"calc/measure": "the unit of bare numbers is a setting",
		"calc/price":   "the currency is a setting",
		"calc/pool":    "the practice log is made of records",
		"store":        "the wiring opens it",
		"commands":     "the wiring builds them",
		"bot/console":  "the wiring starts it",
		"bot/discord":  "the wiring starts it",
	},
}

const top = "../.."

// eachGoFile calls see with every Go file's folder and imports of ours.
func eachGoFile(t *testing.T, see func(folder, file string, imports []string)) {
	t.Helper()
	err := filepath.WalkDir(top, func(name string, entry fs.DirEntry, err error) error {
		require.NoError(t, err)
		if entry.IsDir() && strings.HasPrefix(entry.Name(), ".") && name != top {
			return fs.SkipDir
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		require.NoError(t, err)
		rel, err := filepath.Rel(top, name)
		require.NoError(t, err)
		var ours []string
		for _, i := range f.Imports {
			if to, ok := strings.CutPrefix(strings.Trim(i.Path.Value, `"`), "tallystick/"); ok {
				ours = append(ours, to)
			}
		}
		see(path.Dir(filepath.ToSlash(rel)), filepath.ToSlash(rel), ours)
		return nil
	})
	require.NoError(t, err)
}

func TestOnlyTheArrowsOfTheHouseAreDrawn(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	eachGoFile(t, func(folder, file string, imports []string) {
		allowed, known := arrows[folder]
		if !assert.True(t, known, "%s stands in a folder the house does not have", file) {
			return
		}
		seen[folder] = true
		for _, to := range imports {
			if strings.HasSuffix(file, "_test.go") && to == folder {
				continue // an outside test looks at its own package
			}
			assert.Contains(t, allowed, to, "%s draws an arrow that the house does not have", file)
		}
	})
	for folder := range arrows {
		assert.True(t, seen[folder], "%s has no Go file", folder)
	}
}

func TestEveryArrowOfTheHouseIsNeeded(t *testing.T) {
	t.Parallel()
	drawn := map[string]bool{}
	eachGoFile(t, func(folder, file string, imports []string) {
		if strings.HasSuffix(file, "_test.go") {
			return
		}
		for _, to := range imports {
			drawn[folder+" -> "+to] = true
		}
	})
	for from, tos := range arrows {
		for to := range tos {
			assert.True(t, drawn[from+" -> "+to], "%s -> %s is allowed and nobody draws it", from, to)
		}
	}
}

// calc is pure: the same input gives the same output.
func TestCalcTouchesNeitherTheClockNorTheWorld(t *testing.T) {
	t.Parallel()
	inspect(t, "calc", func(name string, n ast.Node) {
		switch n := n.(type) {
		case *ast.ImportSpec:
			switch p := strings.Trim(n.Path.Value, `"`); p {
			case "context", "log/slog", "os", "net", "net/http", "math/rand", "math/rand/v2", "crypto/rand":
				assert.Failf(t, "calc reaches out", "%s imports %s", name, p)
			}
		case *ast.SelectorExpr:
			if x, ok := n.X.(*ast.Ident); ok && x.Name == "time" {
				assert.NotContains(t, []string{"Now", "Since", "Until", "Sleep", "After"}, n.Sel.Name, name)
			}
		}
	})
}

// floats are the files that may hold a binary fraction: units that the unit
// library converts, physical estimates, and charts, where an amount becomes the
// pixel that a bar ends at and never comes back. Everything else that money, board
// feet or records pass through has none.
var floats = []string{
	"calc/measure/library.go", "commands/chart.go", "commands/charge_chart.go", "commands/market_chart.go",
	// Estimates of wood and finish: none of them is paid for or tallied.
	"calc/lumber/estimate.go", "calc/lumber/physical.go", "calc/lumber/species.go", "calc/lumber/moisture.go",
	"calc/lumber/movement.go", "calc/lumber/weight.go", "calc/lumber/deflection.go", "calc/lumber/resin.go",
}

func TestNoFloatComesNearMoneyBoardFeetOrRecords(t *testing.T) {
	t.Parallel()
	for _, folder := range []string{"calc", "store", "commands"} {
		inspect(t, folder, func(name string, n ast.Node) {
			if id, ok := n.(*ast.Ident); ok && !slices.Contains(floats, name) {
				assert.NotContains(t, []string{"float32", "float64"}, id.Name, name)
			}
		})
	}
}

// What is counted is told through Set.Observe and discord.Status; how it is written
// for whoever collects it is the wiring's own.
func TestOnlyTheWiringKnowsHowMetricsAreWritten(t *testing.T) {
	t.Parallel()
	for _, folder := range []string{"calc", "store", "commands", "bot"} {
		inspect(t, folder, func(name string, n ast.Node) {
			if i, ok := n.(*ast.ImportSpec); ok {
				assert.NotContains(t, i.Path.Value, "prometheus", name)
			}
		})
	}
}

// inspect walks the syntax of every file of a folder that is no test.
func inspect(t *testing.T, folder string, see func(name string, n ast.Node)) {
	t.Helper()
	files := 0
	err := filepath.WalkDir(filepath.Join(top, folder), func(name string, _ fs.DirEntry, err error) error {
		require.NoError(t, err)
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		files++
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		rel, err := filepath.Rel(top, name)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool { see(filepath.ToSlash(rel), n); return true })
		return nil
	})
	require.NoError(t, err)
	require.Positive(t, files, "%s holds Go files", folder)
}

// The fixed top level of the repository.
func TestTheTopLevelHoldsNothingElse(t *testing.T) {
	t.Parallel()
	entries, err := filepath.Glob(filepath.Join(top, "*"))
	require.NoError(t, err)
	allowed := []string{"cmd", "bot", "commands", "calc", "store", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}
	for _, e := range entries {
		if name := filepath.Base(e); !strings.HasPrefix(name, ".") {
			assert.Contains(t, allowed, name)
		}
	}
}
