package lumber_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// estimates are the files of physical estimates, which may count in floating point,
// each with the reason. Board feet never do.
var estimates = map[string]string{}

// floats lists what in the file is a floating-point type, literal or conversion.
func floats(t *testing.T, path string) []string {
	t.Helper()
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, path, nil, 0)
	require.NoError(t, err)
	var found []string
	ast.Inspect(file, func(node ast.Node) bool {
		switch node := node.(type) {
		case *ast.Ident:
			switch node.Name {
			case "float32", "float64", "Float32", "Float64", "ParseFloat", "FormatFloat":
				found = append(found, files.Position(node.Pos()).String()+": "+node.Name)
			}
		case *ast.BasicLit:
			if node.Kind == token.FLOAT {
				found = append(found, files.Position(node.Pos()).String()+": "+node.Value)
			}
		}
		return true
	})
	return found
}

func TestOnlyPhysicalEstimatesCountInFloatingPoint(t *testing.T) {
	t.Parallel()
	paths, err := filepath.Glob("*.go")
	require.NoError(t, err)
	looked := 0
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		looked++
		if estimates[path] != "" {
			assert.NotEmpty(t, floats(t, path), "%s needs no exception any more", path)
			continue
		}
		for _, use := range floats(t, path) {
			assert.Fail(t, "floating point", use)
		}
	}
	assert.GreaterOrEqual(t, looked, 2)
}
