package commands

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// questions are invented lines with the reading that is expected of each.
const questions = "../testdata/questions/questions.jsonl"

var rewrite = flag.Bool("rewrite-questions", false, "write the readings of the questions anew, to be read before they are kept")

// question is one line of the file. Read is by the names of fields.written; asks
// are the questions back.
type question struct {
	Kind     string            `json:"kind"`
	Units    string            `json:"units"`
	Currency string            `json:"currency"`
	About    string            `json:"about"`
	Read     map[string]string `json:"read"`
	Unknown  []string          `json:"unknown,omitempty"`
	Asks     []string          `json:"asks,omitempty"`
}

// reader is how the community of the questions reads.
func (q question) reader(t require.TestingT) lineReader {
	usual, err := price.ParseCurrency(q.Currency)
	require.NoError(t, err)
	l := lineReader{bare: measure.Inch, trip: price.Mile, usual: usual, categories: []string{"bench", "box", "shelf", "side-table", "stool", "other"}, venues: []string{"fair", "old-mill"}}
	if q.Units == "metric" {
		l.bare, l.trip = measure.Millimetre, price.Kilometre
	}
	return l
}

func readQuestions(t require.TestingT) []question {
	text, err := os.ReadFile(questions)
	require.NoError(t, err)
	var list []question
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var q question
		require.NoError(t, json.Unmarshal(lines.Bytes(), &q))
		list = append(list, q)
	}
	require.NoError(t, lines.Err())
	return list
}

func TestEveryQuestionIsReadExactlyAsItIsExpected(t *testing.T) {
	t.Parallel()
	list := readQuestions(t)
	hostile, written := 0, &bytes.Buffer{}
	for _, q := range list {
		if q.Kind == "hostile" {
			hostile++
		}
		got := q
		r := q.reader(t).read(q.About)
		got.Read, got.Unknown, got.Asks = r.fields.written(), r.unknown, r.doubts
		if *rewrite {
			encoder := json.NewEncoder(written)
			encoder.SetEscapeHTML(false)
			require.NoError(t, encoder.Encode(got))
			continue
		}
		assert.Equal(t, q, got, "%.80q", q.About)
		assertEveryWordIsAccountedFor(t, q.About, r)
	}
	if *rewrite {
		require.NoError(t, os.WriteFile(questions, written.Bytes(), 0o644))
		return
	}
	assert.GreaterOrEqual(t, len(list), 150)
	assert.GreaterOrEqual(t, hostile, 40)
}

// assertEveryWordIsAccountedFor finds each word of a line once: in a part, among
// those passed over, or among those not understood.
func assertEveryWordIsAccountedFor(t require.TestingT, about string, r lineReading) {
	told := map[string]int{}
	for _, p := range r.parts {
		for word := range strings.FieldsSeq(p.wrote()) {
			told[word]++
		}
	}
	for _, word := range append(r.passed, r.unknown...) {
		told[word]++
	}
	words := map[string]int{}
	for _, clause := range splitLine(about) {
		for _, tok := range clause {
			words[tok.text]++
			if tok.isMark() {
				words[tok.text] = told[tok.text] // punctuation may be left out
			}
		}
	}
	for word, n := range words {
		if told[word] != n {
			assert.Equal(t, n, told[word], "%q of %.60q", word, about)
		}
	}
	// Whatever has a letter or a digit is in one of the words.
	letterRun := func(s string) int {
		n := 0
		for _, r := range s {
			if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
				n++
			}
		}
		return n
	}
	sum := 0
	for _, clause := range splitLine(about) {
		for _, tok := range clause {
			sum += letterRun(tok.text)
		}
	}
	if utf8.ValidString(about) {
		assert.Equal(t, letterRun(about), sum, "%.60q", about)
	}
}

// canonical is a reading without what only the order of the line settles.
func canonical(r lineReading) question {
	unknown := slices.Sorted(slices.Values(r.unknown))
	if len(unknown) == 0 {
		unknown = nil
	}
	return question{Read: r.fields.written(), Unknown: unknown, Asks: r.doubts}
}

// parted is a line as its clauses stand in it.
func parted(about string) []string {
	var clauses []string
	for _, clause := range splitLine(about) {
		words := make([]string, len(clause))
		for i, t := range clause {
			words[i] = t.text
			if t.plus {
				words[i] = "+ " + words[i]
			}
		}
		clauses = append(clauses, strings.Join(words, " "))
	}
	return clauses
}

func TestTheOrderOfThePartsNeverChangesTheReading(t *testing.T) {
	t.Parallel()
	list := readQuestions(t)
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom(list).Draw(t, "question")
		clauses := parted(q.About)
		if len(clauses) > 60 {
			clauses = clauses[:60]
		}
		l := q.reader(t)
		want := canonical(l.read(strings.Join(clauses, "\n")))
		shuffled := rapid.Permutation(clauses).Draw(t, "shuffled")
		require.Equal(t, want, canonical(l.read(strings.Join(shuffled, "\n"))), "%q", shuffled)
		if !strings.Contains(q.About, "\n") {
			require.Equal(t, want, canonical(l.read(strings.Join(shuffled, "; "))), "%q", shuffled)
		}
	})
}

// strangers are words that nobody means anything by here.
var strangers = []string{"qwix", "vozzle", "Zzyzx", "krvotch", "éèê", "日本", "xylq-7q", "<b>", "\\n", "$(ls)", "qq'qq", "🪵"}

func TestAnUnknownWordChangesNothingButWhatIsNotUnderstood(t *testing.T) {
	t.Parallel()
	list := readQuestions(t)
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom(list).Draw(t, "question")
		clauses := parted(q.About)
		if len(clauses) > 60 {
			clauses = clauses[:60]
		}
		l := q.reader(t)
		before := l.read(strings.Join(clauses, "\n"))
		word := rapid.SampledFrom(strangers).Draw(t, "word")
		at := rapid.IntRange(0, len(clauses)).Draw(t, "at")
		if at == len(clauses) {
			clauses = append(clauses, word)
		} else {
			clauses = slices.Clone(clauses)
			switch rapid.IntRange(0, 2).Draw(t, "side") {
			case 0:
				clauses[at] = word + " " + clauses[at]
			case 1:
				clauses[at] += " " + word
			default:
				clauses = slices.Insert(clauses, at, word)
			}
		}
		after := l.read(strings.Join(clauses, "\n"))
		require.Equal(t, before.fields.written(), after.fields.written(), "%q", clauses)
		require.Equal(t, before.doubts, after.doubts, "%q", clauses)
		require.Equal(t, before.passed, after.passed, "%q", clauses)
		want := slices.Clone(before.unknown)
		if tok := splitLine(word); len(tok) > 0 && !tok[0][0].isMark() {
			want = append(want, tok[0][0].text)
		}
		require.ElementsMatch(t, want, after.unknown, "%q", clauses)
	})
}

func FuzzReadingALine(f *testing.F) {
	for _, q := range readQuestions(f) {
		f.Add(q.About, q.Units == "metric")
	}
	f.Fuzz(func(t *testing.T, about string, metric bool) {
		if utf8.RuneCountInString(about) > maxAbout || !utf8.ValidString(about) {
			return
		}
		q := question{Units: "imperial", Currency: "USD"}
		if metric {
			q = question{Units: "metric", Currency: "EUR"}
		}
		l := q.reader(t)
		r := l.read(about)
		assertEveryWordIsAccountedFor(t, about, r)
		require.Equal(t, canonical(r), canonical(l.read(about)), "the same line is read the same")
		options, err := r.fields.priceOptions(nil)
		require.NoError(t, err)
		for name, text := range options {
			require.NotEmpty(t, text, name)
		}
	})
}
