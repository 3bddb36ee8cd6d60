package commands

import (
	"context"
	"maps"
	"math/big"
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// pictureList is what a buyer wants to see. It is common practice, from memory.
var pictureList = []string{"front", "end grain", "joints", "flaw", "scale object", "underside"}

// How well the wood is known.
const (
	knownProven  = "proven"
	knownLikely  = "likely"
	knownUnknown = "unknown"
)

func (h house) pieceListing() Command {
	return Command{
		Path:    "piece listing",
		Summary: "write the sale text, and name the pictures still missing",
		Private: true,
		Options: []Option{
			textOption("wood", price.FactWood, "the wood, as you would name it", "white oak"),
			{Name: "known", Summary: "how well you know the wood", Kind: Word, Example: knownLikely,
				Choices: []Choice{{knownProven, "I can show it: a receipt, my own log"}, {knownLikely, "by its look: probably"}, {knownUnknown, "not known"}}},
			textOption("finish", price.FactFinish, "the finish", "hardwax oil, two coats"),
			textOption("flaws", price.FactFlaws, "what is not perfect", "one filled nail hole"),
			textOption("weight", price.FactWeight, "its weight", "18 kg"),
			textOption("delivery", price.FactDelivery, "how it gets to the buyer", "pick-up, or 20 km for free"),
			textOption("pictures", price.FactPictures, "the pictures you have", "front, joints"),
			{Name: "price", Summary: "the price; else the one posted", Kind: Money, Example: "480"},
			h.pieceOption(),
		},
		Examples: []string{"/piece listing wood:white oak known:likely finish:hardwax oil, two coats weight:18 kg pictures:front, joints price:480"},
		Ask:      []string{"wood", "finish", "flaws", "weight", "delivery"}, FormTitle: "the sale text",
		Prefill: h.prefillListing,
		Run:     h.answerPieceListing,
	}
}

// listingFacts are what the sale text is made from, by option.
var listingFacts = map[string]price.Fact{"wood": price.FactWood, "known": price.FactKnown, "finish": price.FactFinish, "flaws": price.FactFlaws,
	"weight": price.FactWeight, "delivery": price.FactDelivery, "pictures": price.FactPictures}

// prefillListing puts what was said before into the form.
func (h house) prefillListing(ctx context.Context, req Request) (map[string]string, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return nil, err
	}
	values := map[string]string{}
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		p, err := in.piece(ctx, b)
		if err != nil {
			return err
		}
		s, err := b.Sheet(ctx, p.Number)
		for option, fact := range listingFacts {
			values[option] = s.Facts[fact]
		}
		return err
	})
	maps.Copy(values, req.Options)
	return values, err
}

func (h house) answerPieceListing(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	facts := in.facts(listingFacts)
	in.weight(in.text("weight"))
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Private: true}
	number := 0
	if len(facts) > 0 {
		e, err := h.enter(ctx, in, func(making) (price.Entry, error) {
			in.money("price")
			return price.Entry{Kind: price.EntryListing, Facts: facts}, in.err
		})
		if err != nil {
			return Reply{}, err
		}
		number = e.Piece
		reply.Actions = []Action{undoAction(e.Number)}
	}
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		p, err := in.piece(ctx, b)
		if number > 0 {
			p, err = b.Piece(ctx, number)
		}
		if err != nil {
			return err
		}
		sheet, err := b.Sheet(ctx, p.Number)
		if err != nil {
			return err
		}
		in.keepCurrency(sheet.Currency)
		asked := in.money("price")
		if !in.has("price") {
			asked = sheet.Money(sheet.Ask)
		}
		in.listing(&reply, sheet.Facts, asked)
		return in.err
	})
	return reply, err
}

// weight reads a weight as kilograms, nil where none is told.
func (in *reading) weight(text string) *big.Rat {
	if text == "" {
		return nil
	}
	wrong := &Mistake{Option: "weight", Given: measure.Quote(text), Problem: "is not a weight", Try: "18 kg or 40 lb"}
	q, err := measure.ParseQuantity(text, in.bare)
	if err != nil {
		in.fail(wrong)
		return nil
	}
	c, err := q.To("kg", in.bare)
	if err != nil || q.Price {
		in.fail(wrong)
		return nil
	}
	n, err := measure.ParseNumber(cutDecimals(c.Value))
	if err != nil || n.IsZero() {
		in.fail(wrong)
		return nil
	}
	return n.Rat()
}

// cutDecimals keeps as many decimals as a number is read with.
func cutDecimals(v string) string {
	if at := strings.IndexByte(v, '.'); at >= 0 && len(v) > at+7 {
		return v[:at+7]
	}
	return v
}

// weightText is a weight in both systems: to a tenth of a kilogram and a pound. A
// pound is exactly 0.45359237 kg (NIST SP 811, appendix B.8).
func (in *reading) weightText(kg *big.Rat) string {
	pounds := new(big.Rat).Quo(kg, big.NewRat(45_359_237, 100_000_000))
	a, b := measure.Decimal(pounds, 0)+" lb", measure.Decimal(kg, 1)+" kg"
	if in.bare == measure.Millimetre {
		a, b = b, a
	}
	return "about " + a + " (" + b + ")"
}

// listing writes the sale text. It claims of the wood no more than is known.
func (in *reading) listing(reply *Reply, facts price.Facts, asked price.Money) {
	kg := in.weight(facts[price.FactWeight])
	title := oneLine(facts[price.FactName])
	reply.Title = "Sale text, to copy"
	lines := []string{title}
	if facts.Has(price.FactCategory) {
		lines[0] += " (" + strings.ReplaceAll(oneLine(facts[price.FactCategory]), "-", " ") + ")"
	}
	lines = append(lines, "Made by hand, one of its kind.")
	if size := facts.Size(); size != nil {
		lines = append(lines, "Size: "+in.saleSize(size)+".")
	}
	if kg != nil {
		lines = append(lines, "Weight: "+in.weightText(kg)+".")
	}
	lines = append(lines, "Wood: "+woodClaim(oneLine(facts[price.FactWood]), facts[price.FactKnown])+".")
	for _, l := range []struct {
		name string
		fact price.Fact
	}{{"Finish", price.FactFinish}, {"Please note", price.FactFlaws}, {"Delivery", price.FactDelivery}} {
		if facts.Has(l.fact) {
			lines = append(lines, l.name+": "+strings.TrimSuffix(oneLine(facts[l.fact]), ".")+".")
		}
	}
	if asked.IsPositive() {
		lines = append(lines, "Price: "+moneyText(asked, in.req.Locale)+".")
	}
	reply.File = &File{Name: "sale-text.txt", MediaType: "text/plain; charset=utf-8", Bytes: []byte(strings.Join(lines, "\n") + "\n")}
	reply.Notes = append(lines, "Up to here it is the text; the file holds just that. Pictures still missing: "+missingPictures(facts)+".")
	reply.Notes = append(reply.Notes, in.listingHoles(facts, kg, asked)...)
	if kg != nil && kg.Cmp(big.NewRat(23, 1)) > 0 {
		reply.Cautions = append(reply.Cautions, oneLift)
	}
	for _, c := range cautionsFor(pieceCautions, facts[price.FactCategory], facts[price.FactName]) {
		if len(reply.Cautions) < maxCautions {
			reply.Cautions = append(reply.Cautions, c)
		}
	}
}

// saleSize writes a size for buyers: to the fraction of the tape and to the
// millimetre.
func (in *reading) saleSize(size measure.Size) string {
	first, _ := size.Tape(in.tape)
	sides := make([]string, len(size))
	for i, l := range size {
		text, _ := l.MetricTo(0)
		sides[i] = strings.TrimSuffix(text, " mm")
	}
	second := strings.Join(sides, " × ") + " mm"
	if in.bare == measure.Millimetre {
		first, second = second, first
	}
	return first + " (" + second + ")"
}

// woodClaim says of the wood what is known and no more.
func woodClaim(wood, known string) string {
	switch {
	case wood == "" || known == knownUnknown:
		return "kind not known"
	case known == knownProven:
		return wood
	}
	return "probably " + wood
}

// listingHoles names what a buyer will ask for.
func (in *reading) listingHoles(facts price.Facts, kg *big.Rat, asked price.Money) []string {
	var missing []string
	if facts.Size() == nil {
		missing = append(missing, "the size (/piece plan size:)")
	}
	if kg == nil {
		missing = append(missing, "the weight")
	}
	if !facts.Has(price.FactFinish) {
		missing = append(missing, "the finish")
	}
	if !facts.Has(price.FactFlaws) {
		missing = append(missing, "flaws, if there are any")
	}
	if !facts.Has(price.FactDelivery) {
		missing = append(missing, "delivery")
	}
	if !asked.IsPositive() {
		missing = append(missing, "the price")
	}
	var holes []string
	if len(missing) > 0 {
		holes = append(holes, "Not in the text yet: "+strings.Join(missing, ", ")+".")
	}
	if facts.Has(price.FactWood) && !facts.Has(price.FactKnown) {
		holes = append(holes, "I wrote \"probably\", because you have not said how well you know the wood: known:proven if you can show it.")
	}
	return holes
}

// missingPictures names the pictures that a buyer will miss. That of a flaw is
// wanted where one is named.
func missingPictures(facts price.Facts) string {
	var have, missing []string
	for p := range strings.FieldsFuncSeq(strings.ToLower(facts[price.FactPictures]), func(r rune) bool { return strings.ContainsRune(",;\n", r) }) {
		have = append(have, strings.TrimSuffix(strings.TrimSpace(p), "s"))
	}
	for _, p := range pictureList {
		taken := slices.ContainsFunc(have, func(h string) bool { return h == "all" || h != "" && slices.Contains(pictureWords(p), h) })
		if !taken && (p != "flaw" || facts.Has(price.FactFlaws)) {
			missing = append(missing, p)
		}
	}
	if missing == nil {
		return "none"
	}
	return strings.Join(missing, ", ")
}

// pictureWords are the words by which a picture may be named: all of it, or one.
func pictureWords(picture string) []string {
	return append(strings.Fields(strings.TrimSuffix(picture, "s")), strings.TrimSuffix(picture, "s"))
}
