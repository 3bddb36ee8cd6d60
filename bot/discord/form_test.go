package discord

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// asking is a command with a form for its options.
func asking(path string, run commands.Handler, names ...string) commands.Command {
	c := saying(path, run)
	c.FormTitle = "what it wants to know"
	for _, n := range names {
		o := word(n, false)
		o.MaxLength = 120
		c.Options = append(c.Options, o)
	}
	c.Ask = names
	return c
}

// opened is the form of a call: its id, and its fields by name.
func (c call) opened(t *testing.T) (id string, fields map[string]map[string]any) {
	t.Helper()
	require.Equal(t, 9.0, c.Body["type"], "%v", c.Body)
	data := c.Body["data"].(map[string]any)
	fields = map[string]map[string]any{}
	for _, row := range data["components"].([]any) {
		input := row.(map[string]any)["components"].([]any)[0].(map[string]any)
		fields[input["custom_id"].(string)] = input
	}
	return data["custom_id"].(string), fields
}

// sentIn is a form as the platform sends it in; under is the card it was opened from.
func sentIn(id string, values map[string]string, under event) event {
	var rows []any
	for name, value := range values {
		rows = append(rows, map[string]any{"type": 1, "components": []any{map[string]any{"type": 4, "custom_id": name, "value": value}}})
	}
	e := interaction(5, map[string]any{"custom_id": id, "components": rows})
	if under != nil {
		e["message"] = under["message"]
	}
	return e
}

// hide makes the card under a press one that only the asker sees.
func (e event) hide() event {
	e["message"].(map[string]any)["flags"] = 64
	return e
}

func TestAPressOpensAFormAndWhatIsFilledInIsTheRequest(t *testing.T) {
	t.Parallel()
	got := make(chan commands.Request, 1)
	sheet := asking("sheet add", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		got <- req
		return commands.Reply{Title: "Kept", Private: true}, nil
	}, "wood", "note")
	sheet.Options = append(sheet.Options, word("piece", false))
	sheet.Prefill = func(_ context.Context, req commands.Request) (map[string]string, error) {
		return map[string]string{"wood": "ash of " + req.Options["piece"], "note": strings.Repeat("n", 200)}, nil
	}
	r := serve(t, nil, sheet, saying("sheet show", always(commands.Reply{Title: "Sheet", Private: true, Actions: []commands.Action{
		{Label: "Add", Path: "sheet add", Options: map[string]string{"piece": "7"}, Asks: true}}})))
	r.deliver(asked("sheet show", nil))
	press := pressed(r.next().buttons()["Add"])
	r.deliver(press)
	id, fields := r.next().opened(t)
	assert.Equal(t, "A word", fields["wood"]["label"])
	assert.Equal(t, "ash of 7", fields["wood"]["value"])
	assert.Equal(t, "oak", fields["wood"]["placeholder"])
	assert.Equal(t, false, fields["wood"]["required"])
	assert.Equal(t, 120.0, fields["wood"]["max_length"])
	assert.Equal(t, 200.0, fields["note"]["max_length"], "what stands in a field fits it")

	e := r.deliver(sentIn(id, map[string]string{"wood": "red oak", "note": "  "}, press))
	c := r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 4.0, c.Body["type"])
	assert.True(t, c.hidden())
	req := <-got
	assert.Equal(t, "sheet add", req.Path)
	assert.Equal(t, map[string]string{"piece": "7", "wood": "red oak"}, req.Options, "a field left empty is not given")
	assert.Equal(t, e["id"], req.Delivery)
}

func TestACommandWithAFormTypedWithoutOptionsOpensIt(t *testing.T) {
	t.Parallel()
	priced := asking("price", always(commands.Reply{Title: "Price"}), "hours")
	priced.Public = true
	r := serve(t, nil, priced)
	priced.Options = append(priced.Options, word("public", false))
	for _, options := range []map[string]string{nil, {"public": "yes"}} {
		r.deliver(asked("price", options))
		id, _ := r.next().opened(t)
		a, _, _, ok := decodeAction(id)
		require.True(t, ok)
		assert.Equal(t, options["public"], longNames(priced, a.Options)["public"], "what was typed stays with the form")
	}
	r.deliver(asked("price", map[string]string{"hours": "8"}))
	title, _ := r.next().message()
	assert.Equal(t, "Price", title)
}

func TestAFieldSaysWhatItIsWhereThereIsRoomForIt(t *testing.T) {
	t.Parallel()
	buyer := word("to", false)
	buyer.Summary = "a nickname of the buyer"
	day := word("sold-on", false)
	day.Summary = strings.Repeat("the day ", 6)
	c := asking("sell", always(commands.Reply{Title: "Sold"}), "to", "sold-on")
	c.Options = []commands.Option{buyer, day}
	r := serve(t, nil, c)
	r.deliver(asked("sell", nil))
	_, fields := r.next().opened(t)
	assert.Equal(t, "A nickname of the buyer", fields["to"]["label"], "and not whom it went to")
	assert.Equal(t, "Sold on", fields["sold-on"]["label"])
}

func TestAFieldInALabelIsReadToo(t *testing.T) {
	t.Parallel()
	got := make(chan map[string]string, 1)
	r := serve(t, nil, asking("price", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		got <- req.Options
		return commands.Reply{Title: "x"}, nil
	}, "hours"))
	r.deliver(interaction(5, map[string]any{"custom_id": "1-|price|", "components": []any{
		map[string]any{"type": 18, "component": map[string]any{"type": 4, "custom_id": "hours", "value": "8"}},
		map[string]any{"type": 18, "component": map[string]any{"type": 99, "custom_id": "new", "value": []any{"x"}}},
		map[string]any{"type": 77}}}))
	r.next()
	assert.Equal(t, map[string]string{"hours": "8"}, <-got)
}

func TestAMistakeOffersTheFormWithWhatWasTyped(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, asking("price", func(context.Context, commands.Request) (commands.Reply, error) {
		return commands.Reply{}, &commands.Mistake{Option: "hours", Given: "8 hrz", Problem: "is not a time", Try: "8h"}
	}, "hours", "rate"))
	r.deliver(asked("price", map[string]string{"hours": "8 hrz", "rate": "25"}))
	buttons := r.next().buttons()
	require.Contains(t, buttons, "Put it right")
	r.deliver(pressed(buttons["Put it right"]))
	_, fields := r.next().opened(t)
	assert.Equal(t, "8 hrz", fields["hours"]["value"])
	assert.Equal(t, "25", fields["rate"]["value"])

	r.deliver(asked("price", map[string]string{"hours": "8 hrz", "rate": strings.Repeat("2", 100)}))
	assert.Empty(t, r.next().buttons(), "what no button can carry is in the line to copy")
}

func TestAFormThatCannotBeMadeIsASentence(t *testing.T) {
	t.Parallel()
	broken := asking("broken", always(commands.Reply{}), "hours")
	broken.Prefill = func(context.Context, commands.Request) (map[string]string, error) {
		return nil, errors.New("the disk is full")
	}
	panics := asking("panics", always(commands.Reply{}), "hours")
	panics.Prefill = func(context.Context, commands.Request) (map[string]string, error) { panic("no such sheet") }
	slow := asking("slow", always(commands.Reply{}), "hours")
	slow.Prefill = func(ctx context.Context, _ commands.Request) (map[string]string, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}
	full := asking("full", always(commands.Reply{}), "hours")
	full.Options = append(full.Options, word("note", false))
	r := serve(t, soon, broken, panics, slow, full)
	for path, want := range map[string]string{
		"broken": "Something went wrong on my side. Reference 7F3A.",
		"panics": "Something went wrong on my side. Reference 7F3A.",
		"slow":   "Something went wrong on my side. Reference 7F3A.",
		"gone":   `"/gone" is not a command I know. Try /help.`,
	} {
		r.deliver(pressed("1?-|" + path + "|"))
		c := r.next()
		assert.True(t, c.hidden())
		_, text := c.message()
		assert.Contains(t, text, want, path)
	}
	form, fits := drawForm(&commands.Form{Title: strings.Repeat("long ", 20), Path: "full", Options: map[string]string{"note": strings.Repeat("n", 100)},
		Fields: []commands.Field{{Option: "hours", Label: strings.Repeat("long ", 20), Example: strings.Repeat("8 ", 99), Value: strings.Repeat("8", 5000)}}})
	assert.False(t, fits)
	assert.LessOrEqual(t, units(form.Title), formTitleLimit)
	assert.Len(t, form.Components[0].Components[0].Value, fieldMost)
	assert.Equal(t, fieldMost, form.Components[0].Components[0].MaxLength)
}

func TestAStrangersPressOpensNoForm(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, asking("price", always(commands.Reply{}), "hours"))
	r.deliver(pressed("1?" + ownerMark("3001") + "|price|").from("3002"))
	_, text := r.next().message()
	assert.Contains(t, text, "belongs to somebody else's answer")
}
