package commands

import (
	"encoding/json"
	"time"
)

// Reply is an answer as plain data, without platform ids, colours or mark-up.
// Its JSON form is the same everywhere; keys are stable and snake_case.
//
// One of Mistake, Refusal and Fault is set when the request was not answered;
// such a reply holds nothing else.
type Reply struct {
	Title    string    `json:"title"`
	Figures  []Figure  `json:"figures"`
	Tables   []Table   `json:"tables"`
	Notes    []string  `json:"notes"`
	Cautions []Caution `json:"cautions"`
	Actions  []Action  `json:"actions,omitempty"`
	// Picture is a chart or a diagram that says in its own way what the figures
	// and tables say too.
	Picture *Picture `json:"picture,omitempty"`
	// File is something to keep: an export. A transport hands it over as it is.
	File *File `json:"file,omitempty"`
	// Private is true when only the asker may see the reply.
	Private bool `json:"private"`
	// Update is true when the reply, as the answer to a press, takes the place of
	// the card that was pressed.
	Update bool `json:"-"`
	// Again is true when the same request may be sent again as it is after a while.
	// A transport shows its line then, so that nothing has to be typed again.
	Again bool `json:"-"`

	Mistake *Mistake `json:"-"`
	Refusal *Refusal `json:"-"`
	Fault   *Fault   `json:"-"`
}

// Figure is one number of a reply.
type Figure struct {
	// Key is stable and documented in DEVELOPERS.md.
	Key   string `json:"key"`
	Label string `json:"label"`
	// Value is a plain decimal: digits, at most one point, at most one sign.
	Value string `json:"value"`
	// Unit is a unit symbol or an ISO 4217 code.
	Unit string `json:"unit"`
	// Text is the figure as people read it, unit included.
	Text string `json:"text"`
	// At is set where the figure is a moment. A transport that can write it in each
	// reader's own time zone does so instead of showing Text.
	At time.Time `json:"at,omitzero"`
}

// Table is a small grid. Every row has as many cells as there are columns.
type Table struct {
	Title   string     `json:"title"`
	Columns []string   `json:"columns"`
	Rows    [][]string `json:"rows"`
}

// File is a file that goes with a reply.
type File struct {
	// Name is a file name such as "pieces.csv", without a folder.
	Name string `json:"name"`
	// MediaType is its type in the sense of RFC 6838, such as "text/csv".
	MediaType string `json:"media_type"`
	Bytes     []byte `json:"bytes"`
}

// Caution is a warning with the body that issued it.
type Caution struct {
	Text   string `json:"text"`
	Issuer string `json:"issuer"`
}

// Action is a request the reader may make next, by a button or by typing Line.
//
// An action that Asks opens the command's form first, see Set.Form.
type Action struct {
	Label   string            `json:"label"`
	Path    string            `json:"path"`
	Options map[string]string `json:"options"`
	Asks    bool              `json:"asks,omitempty"`
}

// Line is the action as a person would type it.
func (a Action) Line() string { return FormatLine(a.Path, a.Options) }

// Fault is a failure of ours. The reference is in the log beside the cause.
type Fault struct {
	Reference string `json:"reference"`
}

// Sentence is what the asker is told.
func (f *Fault) Sentence() string {
	return "Something went wrong on my side. Reference " + f.Reference + "."
}

// Outcome says in one word how a request ended.
type Outcome string

// The outcomes of a request.
const (
	Answered   Outcome = "ok"
	WasMistake Outcome = "mistake"
	WasRefused Outcome = "refused"
	WasFault   Outcome = "fault"
)

// Outcome tells whether the request was answered and, if not, whose turn it is.
func (r Reply) Outcome() Outcome {
	switch {
	case r.Fault != nil:
		return WasFault
	case r.Refusal != nil:
		return WasRefused
	case r.Mistake != nil:
		return WasMistake
	}
	return Answered
}

// Sentence is the one line of a reply that is not an answer, else "".
func (r Reply) Sentence() string {
	switch r.Outcome() {
	case WasFault:
		return r.Fault.Sentence()
	case WasRefused:
		return r.Refusal.Sentence
	case WasMistake:
		return r.Mistake.Error()
	}
	return ""
}

// MarshalJSON gives the one JSON form. Lists are never null.
func (r Reply) MarshalJSON() ([]byte, error) {
	switch r.Outcome() {
	case WasFault:
		return json.Marshal(map[string]*Fault{"fault": r.Fault})
	case WasRefused:
		return json.Marshal(map[string]*Refusal{"refusal": r.Refusal})
	case WasMistake:
		return json.Marshal(map[string]*Mistake{"mistake": r.Mistake})
	}
	type plain Reply // without this method
	p := plain(r)
	p.Figures = orEmpty(p.Figures)
	p.Tables = orEmpty(p.Tables)
	p.Notes = orEmpty(p.Notes)
	p.Cautions = orEmpty(p.Cautions)
	return json.Marshal(p)
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
