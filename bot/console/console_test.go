package console_test

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/bot/console"
	"tallystick/commands"
)

// testSet is a small set of commands: the console knows nothing of the real ones.
func testSet(t *testing.T) *commands.Set {
	t.Helper()
	wood := commands.Option{Name: "wood", Summary: "which wood", Kind: commands.Word, Example: "elm",
		Choices: []commands.Choice{{Value: "elm", Label: "elm"}, {Value: "elder", Label: "elder"}, {Value: "oak", Label: "oak"}}}
	length := commands.Option{Name: "length", Summary: "how long", Kind: commands.Quantity, Example: "3 ft"}
	say := func(_ context.Context, req commands.Request) (commands.Reply, error) {
		return commands.Reply{Title: "cut " + req.Options["wood"] + "|" + req.Options["length"],
			Notes:   []string{"by " + req.Member + " in " + req.Community},
			Actions: []commands.Action{{Label: "Glue it", Path: "glue up", Options: map[string]string{"wood": "oak"}}}}, nil
	}
	set, err := commands.NewSet([]commands.Command{
		{Path: "cut", Summary: "cut a board", Options: []commands.Option{wood, length}, Examples: []string{"/cut wood:elm"}, Run: say},
		{Path: "glue up", Summary: "glue boards", Options: []commands.Option{wood}, Examples: []string{"/glue up wood:oak"},
			Run: func(_ context.Context, req commands.Request) (commands.Reply, error) {
				return commands.Reply{Title: "glued " + req.Options["wood"]}, nil
			}},
		{Path: "glue scrape", Summary: "scrape glue", Examples: []string{"/glue scrape"},
			Run: func(context.Context, commands.Request) (commands.Reply, error) {
				return commands.Reply{}, errors.New("the scraper broke")
			}},
		{Path: "keep", Summary: "keep a text", Examples: []string{"/keep text:x"},
			Options: []commands.Option{{Name: "text", Summary: "it", Kind: commands.FileText, Example: "x"}},
			Run: func(_ context.Context, req commands.Request) (commands.Reply, error) {
				return commands.Reply{Title: "kept " + req.Options["text"]}, nil
			}},
		{Path: "list", Summary: "list boards", Examples: []string{"/list"},
			Run: func(context.Context, commands.Request) (commands.Reply, error) {
				return commands.Reply{Title: "listed", File: &commands.File{Name: "../boards.csv", MediaType: "text/csv", Bytes: []byte("boards")}}, nil
			}},
		{Path: "draw", Summary: "draw a board", Examples: []string{"/draw"},
			Run: func(context.Context, commands.Request) (commands.Reply, error) {
				return commands.Reply{Title: "drawn", Picture: commands.NewPicture("../board.png", "a board", func() ([]byte, error) { return []byte("picture"), nil })}, nil
			}},
	}, slog.New(slog.DiscardHandler), func() string { return "AB12" })
	require.NoError(t, err)
	return set
}

func config(t *testing.T) console.Config {
	return console.Config{Set: testSet(t), Community: "shop", Member: "ann", Delivery: func() string { return "d" },
		Now: func() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) }}
}

func TestAPipeIsAnsweredLineByLine(t *testing.T) {
	t.Parallel()
	var out strings.Builder
	worst, err := console.RunPlain(context.Background(), config(t), strings.NewReader("/cut wood:elm length:3' 3-1/4\"\n\n# a note\ncut length:2 ft wood:oak"), &out)
	require.NoError(t, err)
	assert.Equal(t, commands.Answered, worst)
	assert.Equal(t, "cut elm|3' 3-1/4\"\n\nby ann in shop\n> Glue it: /glue up wood:oak\n\ncut oak|2 ft\n\nby ann in shop\n> Glue it: /glue up wood:oak\n\n", out.String())
}

func TestTheWorstOutcomeOfAPipeIsKept(t *testing.T) {
	t.Parallel()
	for lines, want := range map[string]commands.Outcome{
		"/cut wood:elm":                           commands.Answered,
		"/cut wood:ash\n/cut wood:elm":            commands.WasMistake,
		"/cut wood:ash\n/glue scrape\n/cut x:y\n": commands.WasFault,
	} {
		worst, err := console.RunPlain(context.Background(), config(t), strings.NewReader(lines), &strings.Builder{})
		require.NoError(t, err)
		assert.Equal(t, want, worst, lines)
	}
}

func TestANumberChoosesAnActionOfTheReplyBefore(t *testing.T) {
	t.Parallel()
	var out strings.Builder
	worst, err := console.RunPlain(context.Background(), config(t), strings.NewReader("/cut wood:elm\n1\n1\n"), &out)
	require.NoError(t, err)
	assert.Contains(t, out.String(), "glued oak")
	assert.Equal(t, commands.WasMistake, worst, "the second 1 chooses nothing")
}

func TestAPictureIsSavedAndItsPathPrinted(t *testing.T) {
	t.Parallel()
	cfg := config(t)
	cfg.Pictures = filepath.Join(t.TempDir(), "pictures")
	var out strings.Builder
	_, err := console.RunPlain(context.Background(), cfg, strings.NewReader("/draw\n"), &out)
	require.NoError(t, err)
	path := filepath.Join(cfg.Pictures, "2026-03-02-090000-board.png")
	assert.Contains(t, out.String(), "Saved as "+path)
	saved, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "picture", string(saved))
	_, err = console.RunPlain(context.Background(), cfg, strings.NewReader("/draw\n"), &out)
	require.NoError(t, err)
	assert.FileExists(t, filepath.Join(cfg.Pictures, "2026-03-02-090000-board-2.png"), "a second in the same second has its own name")
}

func TestAFileIsSavedForItsOwnerAlone(t *testing.T) {
	t.Parallel()
	cfg := config(t)
	cfg.Pictures = filepath.Join(t.TempDir(), "pictures")
	var out strings.Builder
	_, err := console.RunPlain(context.Background(), cfg, strings.NewReader("/list\n"), &out)
	require.NoError(t, err)
	path := filepath.Join(cfg.Pictures, "2026-03-02-090000-boards.csv")
	assert.Equal(t, "listed\n\nFile: ../boards.csv, 6 bytes\nSaved as "+path+"\n\n", out.String())
	saved, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "boards", string(saved))
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())

	// Where it cannot be saved that is said.
	cfg.Pictures = path
	out.Reset()
	_, err = console.RunPlain(context.Background(), cfg, strings.NewReader("/list\n"), &out)
	require.NoError(t, err)
	assert.Contains(t, out.String(), "The file could not be saved")
}

func TestAFileIsReadWhereAnOptionTakesOne(t *testing.T) {
	t.Parallel()
	name := filepath.Join(t.TempDir(), "boards.txt")
	require.NoError(t, os.WriteFile(name, []byte("six boards: ash\n"), 0o600))
	assert.Equal(t, "kept six boards: ash", console.Ask(context.Background(), config(t), "/keep text:@"+name).Title)
	assert.Equal(t, "kept six boards", console.Ask(context.Background(), config(t), "/keep text:six boards").Title)
	assert.Equal(t, "cut |@"+name, console.Ask(context.Background(), config(t), "/cut length:@"+name).Title, "and nowhere else")
	gone := console.Ask(context.Background(), config(t), "/keep text:@"+name+".gone")
	assert.Equal(t, commands.WasMistake, gone.Outcome())
	assert.Contains(t, gone.Sentence(), "is not a file that I can read")
	require.NoError(t, os.WriteFile(name, []byte(strings.Repeat("x", 1000)), 0o600))
	assert.Contains(t, console.Ask(context.Background(), config(t), "/keep text:@"+name).Sentence(), "characters long", "no more is read than can be used")
}

func TestTwoPicturesInOneSecondAreTwoFiles(t *testing.T) {
	t.Parallel()
	cfg := config(t)
	cfg.Pictures = t.TempDir()
	var out strings.Builder
	_, err := console.RunPlain(context.Background(), cfg, strings.NewReader("/draw\n/draw\n"), &out)
	require.NoError(t, err)
	for _, name := range []string{"2026-03-02-090000-board.png", "2026-03-02-090000-board-2.png"} {
		assert.Contains(t, out.String(), "Saved as "+filepath.Join(cfg.Pictures, name)+"\n")
		assert.FileExists(t, filepath.Join(cfg.Pictures, name))
	}
}

func TestALineOfAMegabyteEndsTheReadingWithAnError(t *testing.T) {
	t.Parallel()
	_, err := console.RunPlain(context.Background(), config(t), strings.NewReader(strings.Repeat("x", 1<<20)), &strings.Builder{})
	assert.ErrorContains(t, err, "reading a line")
}

func TestQuotesHoldWhatLooksLikeAnOption(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]string{
		`/cut length:"a wood:elm b" wood:oak`: "cut oak|a wood:elm b",
		`/cut length:39" wood:oak`:            `cut oak|39"`,
		`/cut length:"39 in"`:                 "cut |39 in",
		`/CUT Length:7:40`:                    "cut |7:40",
	} {
		reply := console.Ask(context.Background(), config(t), line)
		assert.Equal(t, want, reply.Title, line)
		again := console.Ask(context.Background(), config(t), commands.FormatLine("cut", optionsOf(t, line)))
		assert.Equal(t, reply.Title, again.Title, "what is written reads back as the same line")
	}
}

func optionsOf(t *testing.T, line string) map[string]string {
	t.Helper()
	_, options, mistake := testSet(t).ParseLine(line)
	require.Nil(t, mistake, line)
	return options
}
