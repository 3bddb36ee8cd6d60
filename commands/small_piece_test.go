package commands_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A bench of 120 x 35 x 45 is one of centimetres. What is typed stays millimetres, and
// the answer says so before somebody sells by it.
func TestASmallPieceInBareMillimetresIsRemarkedOn(t *testing.T) {
	t.Parallel()
	const note = "Read as millimetres; if it was centimetres, write 120 x 35 x 45 cm."
	c := newChat(t)
	c.surelyBy("mia", "/settings set units:metric")
	for size, remarked := range map[string]bool{
		"120x35x45": true, "120 x 35 x 45": true,
		"120 x 35 x 45 mm": false, "120 x 35 x 45 cm": false, "1200x350x450": false, "250x35x45": false,
		`4" x 35 x 45`: false, "120x45": false,
	} {
		for _, member := range []string{"mia", "ian"} {
			for _, line := range []string{
				"/charge about:bench " + size + " elm, 14h15, 84 materials, want 25/h",
				"/charge about:bench elm, 14h15, 84 materials, want 25/h size:" + size,
				"/price hours:14.25 materials:84 rate:25 size:" + size,
				"/weight species:hard maple size:" + size,
			} {
				if size == "120x45" && strings.HasPrefix(line, "/weight") {
					continue // which has three sides or none
				}
				reply := c.ask(member, false, line)
				require.Nil(t, reply.Mistake, "%s: %s: %s", member, line, reply.Sentence())
				assert.Equal(t, remarked && member == "mia", strings.Contains(strings.Join(reply.Notes, "\n"), note), "%s: %s", member, line)
			}
		}
	}
	reply := c.ask("mia", false, "/charge about:bench 120x35x45 elm, 14h15, 84 materials, want 25/h")
	for _, a := range reply.Actions {
		if a.Path == "listing" {
			assert.Contains(t, c.do("mia", "listing", a.Options).Notes, note)
			return
		}
	}
	assert.Fail(t, "no listing is offered")
}
