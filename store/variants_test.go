package store_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

var times = flag.Int("killed-times", 1, "how many times 50 files of a killed process are changed in each way")

func init() { children["fill"] = childFills }

// filled puts something of every kind into a store.
func filled(ctx context.Context, s *store.Store) error {
	err := s.SetCommunity(ctx, "guild", store.Community{Currency: "CAD", Categories: []string{"bench", "box", "shelf"}, Practice: true})
	if err == nil {
		err = s.Seed(ctx, "guild", seeds(60, 3))
	}
	if err == nil {
		err = s.RunRelease(ctx, "guild", pool.DayOf(2026, time.March, 1), pool.StandardRules())
	}
	for i := range 30 {
		who := store.Who{Community: "guild", Member: fmt.Sprint("member ", i)}
		var code string
		if err == nil {
			code, err = s.SaveDraft(ctx, who, bench(100+i), noon)
		}
		if err == nil {
			_, err = s.ShareDraft(ctx, who, "1", code, 1, noon)
		}
		if err == nil {
			err = s.ChangeSettings(ctx, who, "2", noon, func(got *store.Settings) error { got.Units = "metric"; return nil })
		}
		for n := range 6 {
			if err != nil {
				break
			}
			_, err = s.WriteBook(ctx, who, fmt.Sprint("3 ", n), noon, func(*store.Book) (price.Entry, error) {
				e := price.Entry{Kind: price.EntryOpen, Currency: "CAD", Facts: price.Facts{price.FactName: fmt.Sprint("Bench ", i)}}
				if n > 0 {
					e = price.Entry{Kind: price.EntryTime, Piece: 1, Seconds: int64(600 * n), Currency: "CAD", Facts: price.Facts{price.FactStage: "sanding"}}
				}
				e.At, e.Day = noon.Unix(), int(pool.DayAt(noon))
				return e, nil
			})
		}
	}
	return err
}

func childFills(folder string) {
	// All but the last of it is in the file, and the last in the journal.
	s, err := store.Open(context.Background(), config(folder))
	if err == nil {
		err = errors.Join(filled(context.Background(), s), s.Close())
	}
	if err == nil {
		s, err = store.Open(context.Background(), config(folder))
	}
	for i := range 12 {
		who := store.Who{Community: "guild", Member: fmt.Sprint("member ", i)}
		var code string
		if err == nil {
			code, err = s.SaveDraft(context.Background(), who, bench(500+i), noon)
		}
		if err == nil {
			_, err = s.ShareDraft(context.Background(), who, "4", code, 1, noon)
		}
	}
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("holding")
	time.Sleep(time.Minute)
}

// answers writes down everything that the store answers of what filled put there.
func answers(ctx context.Context, s *store.Store) (string, error) {
	var b bytes.Buffer
	var failures error
	say := func(v any, err error) {
		fmt.Fprintf(&b, "%+v\n", v)
		failures = errors.Join(failures, err)
	}
	c, err := s.Community(ctx, "guild")
	say(c, err)
	lines, err := s.Published(ctx, "guild")
	say(nil, err)
	for _, l := range lines {
		for _, p := range l.Figures {
			middle := pool.Middle{}
			if p.Middle != nil {
				middle = *p.Middle
			}
			p.Middle = nil
			say(fmt.Sprint(p, middle), nil)
		}
		l.Figures = nil
		say(l, nil)
	}
	for i := range 30 {
		who := store.Who{Community: "guild", Member: fmt.Sprint("member ", i)}
		sales, err := s.Sales(ctx, who)
		say(sales, err)
		consent, given, err := s.Consent(ctx, who)
		say(fmt.Sprint(consent, given), err)
		settings, err := s.Settings(ctx, who)
		say(settings, err)
		err = s.ReadBook(ctx, who, func(book *store.Book) error {
			entries, err := book.EveryEntry(ctx)
			say(entries, err)
			pieces, err := book.Pieces(ctx, "", 0, 10)
			say(pieces, err)
			sheet, err := book.Sheet(ctx, 1)
			say(fmt.Sprintf("%+v", sheet), err)
			return err
		})
		say(nil, err)
	}
	return b.String(), failures
}

// An outcome is what became of a changed file.
type outcome int

const (
	whole   outcome = iota // it answers what the whole file answers
	refused                // it is refused in one sentence, or its answer is a fault
	another                // it answers something else
)

// tried opens the files of a folder and compares the answers.
func tried(t *testing.T, c store.Config, want string) outcome {
	t.Helper()
	s, err := store.Open(t.Context(), c)
	if err != nil {
		var sentence *store.OpenError
		require.ErrorAs(t, err, &sentence)
		return refused
	}
	got, err := answers(t.Context(), s)
	closing := s.Close()
	switch {
	case err != nil:
		return refused
	case got == want:
		require.NoError(t, closing)
		return whole
	}
	return another
}

// folderOf writes files into a folder of their own.
func folderOf(t *testing.T, files map[string][]byte) store.Config {
	t.Helper()
	folder, err := os.MkdirTemp(t.TempDir(), "")
	require.NoError(t, err)
	c := config(folder)
	for _, path := range []string{c.Path, c.KeysPath} {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	}
	for name, content := range files {
		path := c.Path + name
		if name == "keys" {
			path = c.KeysPath
		}
		require.NoError(t, os.WriteFile(path, content, 0o600))
	}
	return c
}

func filesOf(t *testing.T, c store.Config) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	for _, name := range []string{"", "-wal", ".seal", ".lock", ".sums"} {
		if content, err := os.ReadFile(c.Path + name); err == nil {
			files[name] = content
		}
	}
	content, err := os.ReadFile(c.KeysPath)
	require.NoError(t, err)
	files["keys"] = content
	return files
}

func copied(files map[string][]byte) map[string][]byte {
	other := map[string][]byte{}
	for name, content := range files {
		other[name] = bytes.Clone(content)
	}
	return other
}

// A way is one of changing a file.
type way struct {
	name   string
	killed bool
	of     string // the file, by what its name ends with
	change func(r *rand.Rand, content []byte) []byte
}

func cutShort(r *rand.Rand, content []byte) []byte { return content[:r.IntN(len(content))] }

func bitTurned(r *rand.Rand, content []byte) []byte {
	content[r.IntN(len(content))] ^= 1 << r.IntN(8)
	return content
}

func bytesLost(r *rand.Rand, content []byte) []byte {
	from := r.IntN(len(content))
	clear(content[from:min(from+512, len(content))])
	return content
}

// Whatever is changed in the file, or in the journal of a process that was killed, all
// is answered as it was, or nothing is. What is changed in the sums makes nobody doubt
// a file that is sound.
func TestOfDamagedFilesNoneAnswersSomethingElse(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, filled(t.Context(), s))
	want, err := answers(t.Context(), s)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	closedFiles := filesOf(t, c)
	require.Contains(t, closedFiles, ".seal")
	killedFiles := killed(t)
	require.Contains(t, killedFiles, ".sums")
	wantKilled := answersOf(t, killedFiles)

	random := rand.New(rand.NewPCG(1, 2))
	for _, w := range []way{
		{"closed, cut short", false, "", cutShort},
		{"closed, a bit turned", false, "", bitTurned},
		{"closed, a bit of the sums turned", false, ".sums", bitTurned},
		{"killed, cut short", true, "", cutShort},
		{"killed, a bit turned", true, "", bitTurned},
		{"killed, 512 bytes lost", true, "", bytesLost},
		{"killed, the journal cut short", true, "-wal", cutShort},
		{"killed, a bit of the journal turned", true, "-wal", bitTurned},
		{"killed, 512 bytes of the journal lost", true, "-wal", bytesLost},
		{"killed, the sums cut short", true, ".sums", cutShort},
		{"killed, a bit of the sums turned", true, ".sums", bitTurned},
	} {
		from, answer, rounds := closedFiles, want, 50
		if w.killed {
			from, answer, rounds = killedFiles, wantKilled, 50**times
		}
		var n [3]int
		for range rounds {
			files := copied(from)
			files[w.of] = w.change(random, files[w.of])
			n[tried(t, folderOf(t, files), answer)]++
		}
		t.Logf("%-37s %3d answer as the whole file does, %3d are refused, %3d answer something else", w.name, n[whole], n[refused], n[another])
		assert.Zero(t, n[another], w.name)
		if w.of == ".sums" {
			assert.Zero(t, n[refused], w.name)
		}
	}
	for _, gone := range []string{"-wal", ".sums"} {
		files := copied(killedFiles)
		delete(files, gone)
		want := map[string]outcome{"-wal": refused, ".sums": whole}[gone]
		assert.Equal(t, want, tried(t, folderOf(t, files), wantKilled), "without %s", gone)
	}
}

// killed gives the files of a database whose process was killed.
func killed(t *testing.T) map[string][]byte {
	t.Helper()
	folder := t.TempDir()
	other := heldBy(t, "fill", folder)
	require.NoError(t, other.Process.Kill())
	_ = other.Wait()
	files := filesOf(t, config(folder))
	require.NotContains(t, files, ".seal")
	return files
}

func answersOf(t *testing.T, files map[string][]byte) string {
	t.Helper()
	s := open(t, folderOf(t, copied(files)))
	text, err := answers(t.Context(), s)
	require.NoError(t, err)
	return text
}
