package commands

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

// wordingVersion is recorded with each consent; it goes up when wording changes.
const wordingVersion = 2

// wording is what a member agrees to with the first share, or by opting in.
// Version 2.
var wording = []string{
	"A sale that you share joins this community's log, pooled and rounded. Each is a separate act, and you see before exactly what leaves.",
	"It is published only inside medians of at least 8 makers, once it is 90 days old; a secret fifth of makers never counts in a given figure. It goes when it is 24 months old, or when you withdraw it.",
	"It carries a scrambled tag instead of you, so that makers can be counted and you can list, export and withdraw your own. It never holds your name, account, words, pictures, the day, or the buyer. Somebody who knew nearly all other sales here could still guess yours a little better than blind.",
	"Past prices are for orientation and no agreement: each maker sets their own price. Whether sharing them is allowed where you live is for you to check.",
}

func (h house) saleShare() Command {
	piece := h.pieceOption()
	piece.Summary = "or a sold piece of yours, whose sheet brings the figures"
	options := append(h.saleOptions(), piece, Option{
		Name: "confirm", Summary: "the code of a preview, to share exactly that", Kind: Code, Example: "K7Q2MX"})
	return Command{
		Path:    "sale share",
		Summary: "share a finished sale with the local log: a preview first, then confirm",
		Private: true,
		Options: options,
		Examples: []string{
			"/sale share price:430 category:bench board-feet:14.5 top:48 x 14 in hours:14.25 materials:124.90 fee:2.9% asked:480 days:12",
			"/sale share piece:1",
		},
		Ask:       []string{"price", "category", "hours", "materials", "board-feet"},
		FormTitle: "a sale to share",
		Run:       h.answerSaleShare,
	}
}

func (h house) answerSaleShare(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	if in.has("confirm") {
		return h.confirmShare(ctx, in)
	}
	if in.has("piece") {
		sale, err := h.finishedSale(ctx, in)
		if err != nil {
			return Reply{}, err
		}
		return h.previewShare(ctx, in, sale)
	}
	for _, name := range []string{"price", "category"} {
		if !in.has(name) {
			o, _ := req.command.Option(name)
			return Reply{}, &Mistake{Option: name, Problem: "is needed: " + o.Summary, Try: name + ":" + o.Example}
		}
	}
	sale := in.sale()
	if in.err != nil {
		return Reply{}, in.err
	}
	return h.previewShare(ctx, in, sale)
}

// previewShare keeps a sale as a preview and shows exactly what would leave. How
// the sale came to be known, typed in here or from somewhere else, is the same.
func (h house) previewShare(ctx context.Context, in *reading, sale store.Sale) (Reply, error) {
	req, who := in.req, whoAsks(in.req)
	if err := h.admitSharer(ctx, req); err != nil {
		return Reply{}, err
	}
	code, until, err := h.keepPreview(ctx, who, sale, req.Time)
	if err != nil {
		return Reply{}, err
	}
	// What was kept, not what was given, is what would leave.
	if sale, err = h.Store.Draft(ctx, who, code); err != nil {
		return Reply{}, err
	}
	twin, err := h.Store.Similar(ctx, who, sale)
	if err != nil {
		return Reply{}, err
	}
	consent, given, err := h.Store.Consent(ctx, who)
	if err != nil {
		return Reply{}, err
	}
	lines, err := h.Store.Published(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{
		Title:   "Preview: exactly this would leave",
		Private: true,
		Tables:  []Table{{Columns: []string{"what", "as it is kept"}, Rows: saleRows(sale, in.currency, req.Locale)}},
		Notes:   []string{"Nothing has been shared yet. Figures are kept to three digits."},
		Actions: []Action{{Label: "Share it", Path: "sale share", Options: map[string]string{"confirm": code}}},
	}
	if twin {
		reply.Notes = append(reply.Notes, "You have shared exactly such a sale before: confirm only if this is another piece.")
	}
	reply.Notes = append(reply.Notes, farOff(lines, sale, in.currency, req.Locale)...)
	if !given || consent.Wording != wordingVersion {
		reply.Notes = append(reply.Notes, "By confirming you agree to this (wording "+strconv.Itoa(wordingVersion)+"):")
		reply.Notes = append(reply.Notes, wording...)
	}
	reply.Notes = append(reply.Notes, "To share it, confirm with "+code+" "+until+"; to leave it, do nothing.")
	return reply, nil
}

// keepPreview keeps a sale as a preview. One that is just the same and was not shared yet
// stays the only one, so that asking twice does not share twice.
func (h house) keepPreview(ctx context.Context, who store.Who, sale store.Sale, now time.Time) (code, until string, err error) {
	own, err := h.Store.Own(ctx, who)
	if err != nil {
		return "", "", err
	}
	for _, d := range own.Drafts {
		if d.Sale == sale.Rounded() && d.Expires.After(now.Add(previewLeast)) {
			return d.Code, "until " + dateText(int(pool.DayAt(d.Expires))), nil
		}
	}
	code, err = h.Store.SaveDraft(ctx, who, sale, now)
	return code, "within 7 days", err
}

// previewLeast is how long a preview has to hold yet to be shown again.
const previewLeast = 24 * time.Hour

func (h house) confirmShare(ctx context.Context, in *reading) (Reply, error) {
	req := in.req
	if len(req.Options) > 1 {
		return Reply{}, &Mistake{Option: "confirm", Given: measure.Quote(req.Options["confirm"]),
			Problem: "shares a preview as it stands, so nothing may stand beside it", Try: "/sale share confirm:" + measure.Quote(req.Options["confirm"])}
	}
	if err := h.admitSharer(ctx, req); err != nil {
		return Reply{}, err
	}
	who := whoAsks(req)
	shared, err := h.Store.ShareDraft(ctx, who, req.Delivery, req.Options["confirm"], wordingVersion, req.Time)
	if done, ok := errors.AsType[*store.AlreadyShared](err); ok {
		return Reply{Title: fmt.Sprintf("Already shared, as your sale %d", done.Number), Private: true,
			Notes: []string{"It was shared once and is not doubled. See it with /sale mine; another piece that sold just alike takes a preview of its own."}}, nil
	}
	if errors.Is(err, store.ErrNotFound) {
		return Reply{}, &Mistake{Option: "confirm", Given: measure.Quote(req.Options["confirm"]),
			Problem: "is no preview of yours, or one older than 7 days", Try: "/sale share again for a fresh preview"}
	}
	if err != nil {
		return Reply{}, full(err)
	}
	n := strconv.Itoa(shared.Number)
	return Reply{
		Title:   "Shared, as your sale " + n,
		Private: true,
		Figures: []Figure{{Key: "withdrawal_code", Label: "Withdrawal code", Value: shared.Withdrawal, Text: shared.Withdrawal}},
		Notes: []string{
			"Keep the code: it is shown once, and withdraws this sale even without your account (/sale withdraw code:" + shared.Withdrawal + ").",
			"It can count in the local figures once it is 90 days old.",
		},
		Actions: []Action{{Label: "Withdraw it again", Path: "sale withdraw", Options: map[string]string{"sale": n}}},
	}, nil
}

// admitSharer lets somebody confirm who may use the log. Confirming is agreeing,
// so nobody has to opt in before.
func (h house) admitSharer(ctx context.Context, req Request) error {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return err
	}
	if community.Access == store.Sharers {
		return nil
	}
	return h.admit(ctx, req, community)
}

// logCurrency is the currency the log is kept in.
func logCurrency(c store.Community) (price.Currency, error) { return price.ParseCurrency(c.Currency) }
