package discord

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf16"

	"github.com/bwmarrin/discordgo"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/commands"
)

func TestEscapedTextShowsAsItWasWritten(t *testing.T) {
	t.Parallel()
	for given, want := range map[string]string{
		`3/4" x 5-1/2" at $4.10`:           `3/4" x 5-1/2" at $4.10`,
		"*b* _u_ ~s~ `c` |x|":              "\\*b\\* \\_u\\_ \\~s\\~ \\`c\\` \\|x\\|",
		"# head\n- item\n-# small\n1. one": "\\# head\n\\- item\n\\-# small\n1\\. one",
		"> quote\n  + more\n10) ten":       "\\> quote\n  \\+ more\n10\\) ten",
		"@everyone 4 @ $3 a@b":             "@" + apart + "everyone 4 @ $3 a@" + apart + "b",
		"<@1> <#2> <t:3> <:a:4> </b:5>":    `\<@` + apart + `1\> \<#2\> \<t:3\> \<:a:4\> \</b:5\>`,
		"[free](https://example.org/a_b)":  `\[free\](https://example.org/a_b)`,
		"see https://example.org/a_b *c":   `see https://example.org/a_b \*c`,
		`back\slash`:                       `back\\slash`,
		"a\x00b\u202ec\u200fd\re":          "abcde",
	} {
		assert.Equal(t, want, escape(given))
	}
}

// shown is what the chat makes of escaped text: a backslash before a sign of
// ASCII stands for the sign.
func shown(s string) string {
	var b strings.Builder
	escaped := false
	for _, r := range s {
		if !escaped && r == '\\' {
			escaped = true
			continue
		}
		escaped = false
		b.WriteRune(r)
	}
	return strings.ReplaceAll(b.String(), apart, "")
}

var chatText = rapid.StringOf(rapid.OneOf(rapid.SampledFrom([]rune("*_~`|[]<>@#-+1.) \n\\ab(:/")), rapid.Rune()))

// What turns the direction of what follows, or does not show at all, would make a
// button or a choice read as another.
func TestButtonsAndChoicesShowNothingThatDoesNotShow(t *testing.T) {
	t.Parallel()
	const given, want = "Piece \u202e1\u2066,\x00 a\r\n  bench\x7f", "Piece 1, a bench"
	actions := []commands.Action{{Label: given, Path: "show"}, {Label: "\u202e", Path: "list"}}
	for i := range menuFrom {
		actions = append(actions, commands.Action{Label: given, Path: "open", Options: map[string]string{"n": fmt.Sprint(i)}})
	}
	picture := commands.NewPicture("p.png", "", nil)
	picture.Again = &commands.Action{Label: given, Path: "show"}
	rows, left := drawActions(actions, "", pictureButton(picture, commands.Request{}))
	require.Empty(t, left)
	require.Len(t, rows, 2)
	for i, label := range []string{want, "/list", want} {
		assert.Equal(t, label, rows[0].Components[i].(button).Label)
	}
	assert.Equal(t, want, rows[1].Components[0].(*discordgo.SelectMenu).Options[0].Label)
	assert.Equal(t, []suggestion{{want, "7"}, {want, given}}, suggest([]commands.Choice{{Value: "7", Label: given}, {Value: given}}), "what is sent back stays as it is")
}

func TestEscapingLosesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := chatText.Draw(t, "text")
		require.Equal(t, strings.ReplaceAll(plain(s), apart, ""), shown(escape(s)))
	})
}

func TestLengthsAreCountedInUTF16(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		require.Equal(t, len(utf16.Encode([]rune(s))), units(s))
		most := rapid.IntRange(3, 20).Draw(t, "most")
		require.LessOrEqual(t, units(shorten(s, most)), most)
	})
}

func TestALineIsBrokenWithoutLossAndWithinTheLimit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		line := strings.ReplaceAll(chatText.Draw(t, "line"), "\n", " ")
		most := rapid.IntRange(3, 30).Draw(t, "most")
		pieces := breakLine(escape(line), most)
		require.Equal(t, escape(line), strings.Join(pieces, ""))
		for i, p := range pieces {
			require.LessOrEqual(t, units(p), most)
			if i < len(pieces)-1 {
				require.Zero(t, (len(p)-len(strings.TrimRight(p, `\`)))%2, "a backslash is parted from its sign: %q", p)
			}
		}
	})
}

func keepLetters(s string) string {
	return strings.NewReplacer(" ", "", "\n", "", "`", "").Replace(s)
}

func TestPagesHoldEveryLineInOrderWithinTheLimit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.IntRange(40, 200).Draw(t, "limit")
		var blocks []block
		var want []string
		for range rapid.IntRange(0, 8).Draw(t, "blocks") {
			lines := rapid.SliceOfN(rapid.StringMatching(`[a-zäßж𝛼 ]{0,150}`), 1, 12).Draw(t, "lines")
			blocks = append(blocks, block{text: strings.Join(lines, "\n"), fenced: rapid.Bool().Draw(t, "fenced")})
			want = append(want, lines...)
		}
		pages := paginate(blocks, limit)
		for _, p := range pages {
			require.LessOrEqual(t, units(p), limit)
			require.NotEmpty(t, p)
			require.Zero(t, strings.Count(p, fence)%2, "a code block is left open")
		}
		require.Equal(t, keepLetters(strings.Join(want, "")), keepLetters(strings.Join(pages, "")))
	})
}

func TestWhatFitsOnOnePageIsLaidOutAsOverMany(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var blocks []block
		for range rapid.IntRange(0, 5).Draw(t, "blocks") {
			blocks = append(blocks, block{text: rapid.StringMatching(`[a-zä𝛼 \n]{0,30}`).Draw(t, "text"), fenced: rapid.Bool().Draw(t, "fenced")})
		}
		text, fits := onePage(blocks, 1000)
		require.True(t, fits)
		require.Equal(t, strings.Join(manyPages(blocks, 1000), "a second page"), text)
	})
}

func TestALineIsLeftAsItIsOnlyWhereNothingWouldChange(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(chatText, rapid.StringMatching(`[a-z–×\x{a0}\x{2003}\x{202e}\x{85} ]{0,8}`), rapid.SampledFrom([]string{"a\xffb", "\ufffd"})).Draw(t, "text")
		require.Equal(t, strings.Join(strings.Fields(plain(s)), " "), oneLine(s))
		wanted := strings.Map(func(r rune) rune {
			if r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
				return -1
			}
			return r
		}, strings.ToValidUTF8(s, "\ufffd"))
		require.Equal(t, wanted, plain(s))
	})
}

func TestOrdinaryTextIsWhatEscapingLeavesAsItIs(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]bool{"": true, "14.25 h at $25.00": true, "½ × 3 µm": true, "1.": true, "1. x": false, "12) x": false, "- a": false,
		"a - b #1": true, " a": false, "a ": false, "a  b": false, "a\nb": false, "a_b": false, "see http://x": false, "x\xff": false, "a\u00a0b": false, "a\u202eb": false} {
		assert.Equal(t, want, ordinary(text), text)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(chatText, rapid.StringMatching(`[0-9a-z–×\x{a0}\x{2003}\x{202e}\x{85} .)+#:/]{0,8}`)).Draw(t, "text")
		if ordinary(s) {
			require.Equal(t, s, escapePlain(plain(s)))
			require.Equal(t, s, escapePlain(strings.Join(strings.Fields(plain(s)), " ")))
			require.Equal(t, s, verbatim(s))
		}
	})
}

func TestALongTableGoesOnUnderItsHead(t *testing.T) {
	t.Parallel()
	table := commands.Table{Columns: []string{"Board", "Count"}}
	for range 400 {
		table.Rows = append(table.Rows, []string{"3/4 x 6", "12"})
	}
	pages := render(commands.Reply{Title: "Boards", Tables: []commands.Table{table}}, commands.Request{})
	require.Greater(t, len(pages), 1)
	rows := 0
	for _, p := range pages {
		text := p.Embeds[0].Description
		assert.True(t, strings.HasPrefix(text, "```\nBoard    Count\n--------------\n3/4 x 6     12\n"), text[:60])
		rows += strings.Count(text, "3/4 x 6     12\n")
	}
	assert.Equal(t, 400, rows)
}

func TestATableWiderThanAPhoneBecomesLines(t *testing.T) {
	t.Parallel()
	table := commands.Table{Title: "Cuts", Columns: []string{"Piece", "Length", "From board"},
		Rows: [][]string{{"Leg", "28 in", "the long one with the knot near one end"}, {"Rail", "", "b"}}}
	pages := render(commands.Reply{Title: "T", Tables: []commands.Table{table}}, commands.Request{})
	assert.Equal(t, "**Cuts**\n\n**Piece**: Leg\n**Length**: 28 in\n**From board**: the long one with the knot near one end\n\n**Piece**: Rail\n**From board**: b",
		pages[0].Embeds[0].Description)
}

func TestATableOfJustAPhonesWidthStaysATable(t *testing.T) {
	t.Parallel()
	row := []string{strings.Repeat("a", 30), "12345678"}                           // 30 + 2 + 8
	for extra, fenced := range map[string]bool{"": true, "9": true, "90": false} { // or 30 + 1 + 9
		table := commands.Table{Columns: []string{"x", "y"}, Rows: [][]string{{row[0], row[1] + extra}}}
		text := render(commands.Reply{Title: "T", Tables: []commands.Table{table}}, commands.Request{})[0].Embeds[0].Description
		assert.Equal(t, fenced, strings.HasPrefix(text, fence), text)
	}
}

func TestMoneyStandsToTheRightInEveryCurrency(t *testing.T) {
	t.Parallel()
	table := commands.Table{Columns: []string{"venue", "price"}, Rows: [][]string{{"fair", "CA$1,000.00"}, {"shop", "CA$90.00"}, {"door", "–"}}}
	assert.Equal(t, "```\nvenue        price\n------------------\nfair   CA$1,000.00\nshop      CA$90.00\ndoor             –\n```",
		render(commands.Reply{Title: "T", Tables: []commands.Table{table}}, commands.Request{})[0].Embeds[0].Description)
}

func TestAnEmptyReplyStillSaysSomething(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "There is nothing to show.", render(commands.Reply{}, commands.Request{})[0].Embeds[0].Description)
	assert.Equal(t, "Done", render(commands.Reply{Title: "Done"}, commands.Request{})[0].Embeds[0].Title)
}

func TestATitleTooLongForOneIsTheFirstLine(t *testing.T) {
	t.Parallel()
	title := strings.Repeat("board ", 60)
	page := render(commands.Reply{Title: title, Notes: []string{"x"}}, commands.Request{})[0].Embeds[0]
	assert.Empty(t, page.Title)
	assert.Equal(t, "**"+strings.TrimSpace(title)+"**\n\nx", page.Description)
}

func TestTheTimeOfARequestIsInItsID(t *testing.T) {
	t.Parallel()
	// The worked example of https://discord.com/developers/docs/reference#snowflakes:
	// 175928847299117063 was made at 2016-04-30 11:18:25.796 UTC.
	made := time.Date(2016, 4, 30, 11, 18, 25, 796e6, time.UTC)
	assert.True(t, made.Equal(madeAt("175928847299117063", made.Add(2*time.Second))))
	arrived := time.Now()
	for _, id := range []string{"175928847299117063", "12", "x", "", "99999999999999999999999"} {
		assert.Equal(t, arrived, madeAt(id, arrived), id)
	}
}

func TestAMomentIsWrittenByThePlatformInEachReadersOwnTime(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)
	reply := commands.Reply{Title: "Clock", Figures: []commands.Figure{{Key: "since", Label: "Running since", Text: "2 March, 09:00 UTC", At: at}}}
	// 1772442000 is 2026-03-02T09:00:00Z, by date -u -d @1772442000.
	assert.Equal(t, "**Running since**: <t:1772442000:f>", render(reply, commands.Request{})[0].Embeds[0].Description)
}

func TestSilenceIsNoticedWithinNinetySeconds(t *testing.T) {
	t.Parallel()
	c, err := Config{Token: "t", Set: emptySet(t)}.checked()
	require.NoError(t, err)
	assert.Less(t, mostSilence(c.Timing.Idle), 90*time.Second)
}
