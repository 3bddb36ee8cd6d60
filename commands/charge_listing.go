package commands

import (
	"context"
	"strconv"
	"strings"

	"tallystick/calc/measure"
)

func (h house) listing() Command {
	return Command{
		Path:    "listing",
		Summary: "the words of a listing for a piece you asked about: what it is, size, wood, weight, price",
		Private: true,
		Options: []Option{
			{Name: "draft", Summary: "the code of what you asked by /charge", Kind: Code, Required: true, Example: "K7Q2MX"},
		},
		Examples: []string{"/listing draft:K7Q2MX"},
		Run:      h.answerListing,
	}
}

func (h house) answerListing(ctx context.Context, req Request) (Reply, error) {
	told, err := h.question(ctx, req, req.Options["draft"])
	if err != nil {
		return Reply{}, err
	}
	asked := req.as(h.charge(), told)
	f, r, err := h.chargeFields(ctx, asked)
	if err != nil {
		return Reply{}, err
	}
	c, priced, err := h.charged(ctx, asked, f, r)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "Listing text", Private: true, Notes: f.describes(c.deal.in, priced)}
	if asking, ok := find(c.prices, "asking_price"); ok {
		reply.Figures = append(reply.Figures, moneyFigure("asking_price", "Asking", asking.high, req))
		reply.Notes = append(reply.Notes, "Price: "+moneyText(asking.high, req.Locale)+".")
	} else {
		reply.Notes = append(reply.Notes, "Price: on request.")
	}
	reply.Notes = append(reply.Notes, said(c.deal.in.smallNote(f.sizeText, f.size))...)
	reply.Notes = append(reply.Notes, "To copy and to add to: how it was made, what finish is on it and how to care for it, and pictures in daylight. No cost, rate or fee is in it.")
	return reply, nil
}

// describes says what a piece is, a line a fact, and nothing of what it cost.
func (f fields) describes(in *reading, priced Reply) []string {
	lines := []string{capital(f.named()) + "."}
	if f.size != nil {
		sides := "length × width"
		if len(f.size) == 3 {
			sides += " × height"
			if f.solid() {
				sides = "length × width × thickness"
			}
		}
		lines = append(lines, "Size: "+sizeText(f.size, in)+", "+sides+".")
	}
	if len(f.woods) > 0 {
		lines = append(lines, "Wood: "+woodWords(f.woods)+".")
	}
	for _, figure := range priced.Figures {
		if figure.Key == "weight" {
			lines = append(lines, "Weight: about "+figure.Text+".")
		}
	}
	return lines
}

// named is what the piece is called.
func (f fields) named() string {
	what := f.what
	if what == "" {
		what = f.category
	}
	if what == "" {
		what = "a piece"
	}
	if f.count > 1 {
		what = strconv.Itoa(f.count) + " of: " + strings.TrimSpace(what)
	}
	if len(f.woods) == 1 {
		what += " in " + woodWords(f.woods)
	}
	return measure.Quote(what)
}

// woodWords turns the handbook's names round: "elm, American" is American elm.
func woodWords(woods []string) string {
	words := make([]string, len(woods))
	for i, w := range woods {
		words[i] = w
		if kind, which, ok := strings.Cut(w, ", "); ok && !strings.ContainsAny(which, "(,") {
			words[i] = which + " " + kind
		}
	}
	return strings.Join(words, " and ")
}
