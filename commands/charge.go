package commands

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// maxAbout is how much of a free line is read, in characters.
const maxAbout = 4000

// aboutExample is a line as people write it, aboutMetric as those do who measure in
// millimetres.
const (
	aboutExample = "hall bench " + benchSize + aboutRest
	aboutMetric  = "hall bench " + benchMetric + aboutRest

	benchSize, benchMetric = "48x14x18", "1220x360x460"

	aboutRest = " elm, 14h15, 84 materials + 11.50 glue and oil, want 25/h, shop takes 30%"
)

func (h house) charge() Command {
	category, species := h.categoryOption(), speciesOption
	species.Required = false
	piece := h.pieceOption()
	piece.Summary = "or a piece of yours, whose sheet tells it; the open one where nothing is typed"
	draft := Option{Name: "draft", Summary: "the code of what you asked before, to go on from there", Kind: Code, Example: "K7Q2MX"}
	return Command{
		Path:    "charge",
		Summary: "what should I charge? one line in your own words, one answer",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "about", Summary: "the piece in one line: size, wood, hours, what you paid, the rate you want, what a shop takes", Kind: Word,
				MaxLength: maxAbout, Example: aboutExample},
			spanOption, materialsOption, rateOption,
			{Name: "size", Summary: "the outside size, length x width x height, or the size of the top", Kind: Size, Example: "48 x 14 x 18 in"},
			{Name: "boards", Summary: "the boards in it, thickness x width x length", Kind: Boards, MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
			lowestRateOption, feeOption, fixedFeeOption, h.venueOption("or one of your venues"), haggleOption, category, species, piece, draft,
		},
		Examples:  []string{"/charge about:" + aboutExample, "/charge piece:1"},
		Ask:       []string{"about", "hours", "materials", "rate", "size"},
		FormTitle: "What should I charge?",
		Prefill:   h.prefillCharge,
		Run:       h.answerCharge,
	}
}

func (h house) categoryOption() Option {
	return Option{Name: "category", Summary: "what kind of piece it is", Kind: Word, Example: "bench", Complete: h.completeWords(categoriesOf)}
}

func (h house) answerCharge(ctx context.Context, req Request) (Reply, error) {
	told, code, err := h.chargeTold(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	update := req.Options["draft"] != ""
	req.Options = told
	f, r, err := h.chargeFields(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	who := store.Who{Community: req.Community, Member: req.Member}
	kept := maps.Clone(told)
	delete(kept, "public")
	if code, err = h.Store.SaveQuestion(ctx, who, req.Delivery, code, kept, req.Time); err != nil {
		return Reply{}, err
	}
	answer, err := h.chargeAnswer(ctx, req, f, r)
	if err != nil {
		return Reply{}, err
	}
	answer.Update = update
	again := map[string]string{"draft": code}
	if public := told["public"]; public != "" {
		again["public"] = public
	}
	answer.Picture.again("charge", again)
	answer.Actions = append([]Action{
		{Label: "Put it right", Path: "charge", Options: map[string]string{"draft": code}, Asks: true},
		{Label: "Ask the room", Path: "room ask", Options: map[string]string{"draft": code}, Asks: true},
		{Label: "Listing text", Path: "listing", Options: map[string]string{"draft": code}},
	}, answer.Actions...)
	return answer, nil
}

// chargeTold is what was told of the piece: by the request itself, or before it
// under a code, with what the request changes. A blank option takes back what was
// told there.
//
// A named piece tells what its job sheet holds, and the open one does where nothing
// was typed; what is typed beside a piece wins.
func (h house) chargeTold(ctx context.Context, req Request) (told map[string]string, code string, err error) {
	told, code = map[string]string{}, strings.TrimSpace(req.Options["draft"])
	if code != "" {
		if told, err = h.question(ctx, req, code); err != nil {
			return nil, "", err
		}
	}
	if bare := len(req.Options) == 0 || len(req.Options) == 1 && req.Options["public"] != ""; bare || !blank(req.Options["piece"]) {
		if told, err = h.toldBySheet(ctx, req); err != nil {
			return nil, "", err
		}
	}
	for name, text := range req.Options {
		switch {
		case name == "draft", name == "piece":
		case blank(text):
			delete(told, name)
		default:
			told[name] = text
		}
	}
	if len(told) == 0 || len(told) == 1 && told["public"] != "" {
		in, err := h.read(ctx, req)
		if err != nil {
			return nil, "", err
		}
		return nil, "", &Mistake{Option: "about", Problem: "is needed: the piece in one line, in your own words", Try: "about:" + in.ownWay(aboutExample, aboutMetric)}
	}
	return told, code, nil
}

// question finds what the member asked before.
func (h house) question(ctx context.Context, req Request, code string) (map[string]string, error) {
	told, err := h.Store.Question(ctx, store.Who{Community: req.Community, Member: req.Member}, code, req.Time)
	if errors.Is(err, store.ErrNotFound) {
		return nil, &Mistake{Option: "draft", Given: measure.Quote(code), Problem: "is no question of yours, or one older than 7 days", Try: "/charge about: with the line again"}
	}
	return told, err
}

// prefillCharge puts the line into the form, and beside it only what was told apart
// from it: an empty field leaves the line as it is.
func (h house) prefillCharge(ctx context.Context, req Request) (map[string]string, error) {
	if blank(req.Options["draft"]) {
		if len(req.Options) > 0 && blank(req.Options["piece"]) {
			return req.Options, nil
		}
		return h.toldBySheet(ctx, req)
	}
	return h.question(ctx, req, req.Options["draft"])
}

// chargeFields reads the line and the options beside it. An option wins over what
// the line says of the same thing.
func (h house) chargeFields(ctx context.Context, req Request) (fields, lineReading, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return fields{}, lineReading{}, err
	}
	l := lineReader{bare: in.bare, trip: in.tripUnit(), usual: in.currency, categories: in.community.Categories}
	for _, v := range in.settings.Venues {
		l.venues = append(l.venues, v.Name)
	}
	r := l.read(req.Options["about"])
	f := r.fields
	in.currency = f.currency
	in.overrule(&f)
	return f, r, in.err
}

// overrule puts the options of the request over what the line says.
func (in *reading) overrule(f *fields) {
	for _, amount := range []struct {
		name string
		into **price.Money
	}{{"materials", &f.cost}, {"fixed-fee", &f.fixed}, {"rate", &f.rate}, {"lowest-rate", &f.lowest}} {
		if !in.has(amount.name) {
			continue
		}
		m := in.money(amount.name)
		if in.err == nil && m.Currency() != f.currency {
			in.fail(&Mistake{Option: amount.name, Given: measure.Quote(in.req.Options[amount.name]),
				Problem: "is in " + m.Currency().Code() + " and the line in " + f.currency.Code() + "; I never convert money", Try: "every amount in " + f.currency.Code()})
		}
		*amount.into = &m
	}
	if in.has("hours") {
		span := in.span("hours")
		f.span = &span
	}
	if in.has("fee") || in.has("fixed-fee") {
		f.venues = nil
	}
	if in.has("fee") {
		fee := in.fraction("fee")
		f.fee, f.share = &fee, false
	}
	if in.has("venue") {
		f.fee, f.fixed, f.share = nil, nil, false
		f.venues = strings.Split(in.req.Options["venue"], ",")
	}
	if in.has("haggle") {
		haggle := in.haggle()
		f.haggle = &haggle
	}
	if in.has("size") {
		f.size, f.sizeText = in.size("size"), in.req.Options["size"]
	}
	if in.has("boards") {
		f.lot, f.lotText = in.lot("boards"), in.req.Options["boards"]
	}
	if in.has("category") {
		f.category = in.listed("category", in.community.Categories)
	}
	if in.has("species") {
		wood, _ := in.species("species")
		f.woods = []string{wood.Name}
	}
}

// solidLimit is the thinnest side up to which a piece with three sides is taken for
// solid wood: a top or a slab. Above it the size is the outside of something built.
const solidLimit = 3 * measure.Inch

// solid reports whether the size is that of solid wood.
func (f fields) solid() bool { return len(f.size) == 3 && slices.Min(f.size) <= solidLimit }

// pieces is how many pieces were priced together.
func (f fields) pieces() int { return max(1, f.count) }
