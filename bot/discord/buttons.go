package discord

import (
	"crypto/sha256"
	"encoding/base64"
	"maps"
	"regexp"
	"slices"
	"strings"

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
)

// A button carries its whole request in its id, so that a press works after a
// restart and days later:
//
//	id    = version owner "|" path "|" { name "|" value "|" }
//	owner = "-" | mark of the only member who may press
//
// In a path, name or value a backslash stands before a bar or a backslash.
const actionVersion = "1"

var escapeField = strings.NewReplacer(`\`, `\\`, `|`, `\|`)

// encodeAction gives a button's id; false when the action does not fit into one.
func encodeAction(a commands.Action, owner string) (string, bool) {
	var b strings.Builder
	b.WriteString(actionVersion + orDefault(owner, "-") + "|" + escapeField.Replace(a.Path) + "|")
	for _, name := range slices.Sorted(maps.Keys(a.Options)) {
		b.WriteString(escapeField.Replace(name) + "|" + escapeField.Replace(a.Options[name]) + "|")
	}
	return b.String(), units(b.String()) <= buttonIDLimit
}

// decodeAction reads a button's id back; false when it is not of this version.
func decodeAction(id string) (a commands.Action, owner string, ok bool) {
	fields, whole := splitFields(id)
	if !whole || len(fields) < 2 || len(fields)%2 != 0 {
		return commands.Action{}, "", false
	}
	owner, ok = strings.CutPrefix(fields[0], actionVersion)
	if !ok || !ownerPattern.MatchString(owner) || fields[1] == "" {
		return commands.Action{}, "", false
	}
	if owner == "-" {
		owner = ""
	}
	a = commands.Action{Path: fields[1], Options: map[string]string{}}
	for i := 2; i < len(fields); i += 2 {
		a.Options[fields[i]] = fields[i+1]
	}
	return a, owner, true
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

// drawActions makes the rows of buttons. What does not fit comes back as left, to
// be shown as a line to type.
func drawActions(actions []commands.Action, owner string) (rows []discordgo.MessageComponent, left []commands.Action) {
	var buttons []discordgo.MessageComponent
	used := map[string]bool{}
	for _, a := range actions {
		id, fits := encodeAction(a, owner)
		label := orDefault(strings.Join(strings.Fields(a.Label), " "), "/"+a.Path)
		if used[id] {
			continue // the same request twice
		}
		if !fits || units(label) > buttonLabelMax || len(buttons) == rowsMost*buttonsInRow {
			left = append(left, a)
			continue
		}
		used[id] = true
		buttons = append(buttons, discordgo.Button{Label: label, Style: discordgo.SecondaryButton, CustomID: id})
	}
	for row := range slices.Chunk(buttons, buttonsInRow) {
		rows = append(rows, discordgo.ActionsRow{Components: row})
	}
	return rows, left
}
