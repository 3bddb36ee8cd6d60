package discord

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// What the rows under a message may hold.
// https://discord.com/developers/docs/components/reference
const (
	rowsMost       = 5
	buttonsInRow   = 5
	buttonIDLimit  = 100
	buttonLabelMax = 80
	menuMost       = 25
)

// A button carries its whole request in its id, so that a press works after a
// restart and days later:
//
//	id    = version [ "?" | "!" ] owner "|" path "|" { name "|" value "|" }
//	owner = "-" | mark of the only member who may press
//
// A question mark stands where the command's form is opened first, an exclamation
// mark where the answer comes with its picture. A name of more
// than three letters is written as three that stand for it, see shortName.
// In a path, name or value a backslash stands before a bar or a backslash.
const (
	actionVersion = "1"
	formMark      = "?"
	pictureMark   = "!"
)

var escapeField = strings.NewReplacer(`\`, `\\`, `|`, `\|`)

// encodeAction gives a button's id; false when the action does not fit into one.
func encodeAction(a commands.Action, owner string) (string, bool) {
	if a.Asks {
		return encodeMarked(formMark, a, owner)
	}
	return encodeMarked("", a, owner)
}

func encodeMarked(mark string, a commands.Action, owner string) (string, bool) {
	var b strings.Builder
	b.Grow(buttonIDLimit)
	field := func(text string) {
		if strings.IndexByte(text, '|') >= 0 || strings.IndexByte(text, '\\') >= 0 {
			text = escapeField.Replace(text)
		}
		b.WriteString(text)
		b.WriteByte('|')
	}
	b.WriteString(actionVersion)
	b.WriteString(mark)
	field(orDefault(owner, "-"))
	field(a.Path)
	names := slices.AppendSeq(make([]string, 0, len(a.Options)), maps.Keys(a.Options))
	slices.Sort(names)
	for _, name := range names {
		field(shortName(name))
		field(a.Options[name])
	}
	return b.String(), units(b.String()) <= buttonIDLimit
}

// shortName stands for an option's name in an id, where a hundred characters must
// hold a whole request. It hangs on the name alone, so that a card of last week is
// read whatever was added since; that no two options of a command share one is
// checked with the registration. Each is worked out once: the names are those of our
// own commands' options.
func shortName(name string) string {
	const letters = 3
	if len(name) <= letters {
		return name
	}
	if known, ok := shortNames.Load(name); ok {
		return known.(string)
	}
	sum := sha256.Sum256([]byte(name))
	short := base64.RawURLEncoding.EncodeToString(sum[:letters])[:letters]
	shortNames.Store(name, short)
	return short
}

var shortNames sync.Map

// longNames puts the names of a command's options back.
func longNames(c commands.Command, options map[string]string) map[string]string {
	out := make(map[string]string, len(options))
	for name, text := range options {
		for _, o := range c.Options {
			if name == shortName(o.Name) {
				name = o.Name
				break
			}
		}
		out[name] = text
	}
	return out
}

// decodeAction reads a button's id back, with the names of options as they stand in
// it, and whether it shows the picture; false when it is not of this version.
func decodeAction(id string) (a commands.Action, owner string, shows, ok bool) {
	fields, whole := splitFields(id)
	if !whole || len(fields) < 2 || len(fields)%2 != 0 {
		return commands.Action{}, "", false, false
	}
	owner, ok = strings.CutPrefix(fields[0], actionVersion)
	owner, asks := strings.CutPrefix(owner, formMark)
	if !asks {
		owner, shows = strings.CutPrefix(owner, pictureMark)
	}
	if !ok || !ownerPattern.MatchString(owner) || fields[1] == "" {
		return commands.Action{}, "", false, false
	}
	if owner == "-" {
		owner = ""
	}
	a = commands.Action{Path: fields[1], Options: map[string]string{}, Asks: asks}
	for i := 2; i < len(fields); i += 2 {
		a.Options[fields[i]] = fields[i+1]
	}
	return a, owner, shows, true
}

// splitFields cuts at bars; whole is false when the text does not end in one.
func splitFields(id string) (fields []string, whole bool) {
	var field strings.Builder
	escaped := false
	for _, r := range id {
		switch {
		case escaped:
			field.WriteRune(r)
			escaped = false
		case r == '\\':
			escaped = true
		case r == '|':
			fields = append(fields, field.String())
			field.Reset()
		default:
			field.WriteRune(r)
		}
	}
	return fields, !escaped && field.Len() == 0
}

var ownerPattern = regexp.MustCompile(`^(-|[A-Za-z0-9_-]{8})$`)

// ownerMark is a short mark of a member for a private card's buttons. It only
// keeps a stranger's slip from acting; the card itself is what hides the figures.
func ownerMark(member string) string {
	sum := sha256.Sum256([]byte("tallystick button\x00" + member))
	return base64.RawURLEncoding.EncodeToString(sum[:6])
}

// menuFrom is how many actions of one path become a menu instead of buttons.
const menuFrom = 6

// drawActions makes the rows of buttons, and a menu of each longer choice among
// actions of one path. What does not fit comes back as left, to be shown as a line
// to type. The button that shows the picture, where there is one, is the last.
func drawActions(actions []commands.Action, owner string, picture *button) (rows []row, left []commands.Action) {
	buttons := make([]any, 0, len(actions)+1)
	var order []*discordgo.SelectMenu
	menus, count := map[string]*discordgo.SelectMenu{}, map[string]int{}
	if len(actions) >= menuFrom {
		for _, a := range actions {
			count[a.Path]++
		}
	}
	used := make([]string, 0, len(actions))
	kept := 0
	if picture != nil {
		kept = 1
	}
	for _, a := range actions {
		id, fits := encodeAction(a, owner)
		label := orDefault(oneLine(a.Label), "/"+a.Path)
		if slices.Contains(used, id) {
			continue // the same request twice
		}
		if !fits || units(label) > buttonLabelMax {
			left = append(left, a)
			continue
		}
		if count[a.Path] >= menuFrom && !a.Asks {
			menu := menus[a.Path]
			if menu == nil && len(order) < rowsMost-1 {
				menu = &discordgo.SelectMenu{MenuType: discordgo.StringSelectMenu, CustomID: fmt.Sprint("menu", len(order)), Placeholder: "Choose one"}
				menus[a.Path] = menu
				order = append(order, menu)
			}
			if menu == nil || len(menu.Options) == menuMost {
				left = append(left, a)
				continue
			}
			used = append(used, id)
			menu.Options = append(menu.Options, discordgo.SelectMenuOption{Label: label, Value: id})
			continue
		}
		if len(buttons) == (rowsMost-len(order))*buttonsInRow-kept {
			left = append(left, a)
			continue
		}
		used = append(used, id)
		buttons = append(buttons, newButton(label, id))
	}
	if picture != nil {
		buttons = append(buttons, *picture)
	}
	for few := range slices.Chunk(buttons, buttonsInRow) {
		rows = append(rows, rowOf(few...))
	}
	for _, menu := range order {
		rows = append(rows, rowOf(menu))
	}
	return rows, left
}
