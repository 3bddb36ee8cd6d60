package commands

import (
	"context"
	"strconv"
	"strings"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) pieceTime() Command {
	return Command{
		Path:    "piece time",
		Summary: "add time that was worked without a clock",
		Private: true,
		Options: []Option{
			{Name: "worked", Summary: "how long", Kind: Hours, Example: "1h30", Required: true},
			h.stageOption(), h.pieceOption(), helperOption(), payOption(), onOption("the day; today unless you say"),
			textOption("reason", price.FactReason, "why it is added by hand", "clock was not at the barn"),
		},
		Examples: []string{"/piece time worked:1h30 stage:finishing", "/piece time worked:2h stage:loading helper:Sam pay:15 on:yesterday"},
		Ask:      []string{"worked", "stage", "on", "reason"}, FormTitle: "time worked",
		Run: h.answerPieceTime,
	}
}

// worked reads the time of a piece of work. A bare number of more hours than a day has is
// likelier one of minutes, and is asked about.
func (in *reading) worked() time.Duration {
	d := in.hours("worked")
	if text := in.text("worked"); d > 24*time.Hour && strings.Trim(text, "0123456789.,") == "" {
		in.fail(&Mistake{Option: "worked", Given: measure.Quote(text), Problem: "is more hours than a day has, or else minutes", Try: text + "m or " + text + "h"})
	}
	return d
}

func (h house) answerPieceTime(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		in.payRefused()
		facts := in.facts(map[string]price.Fact{"stage": price.FactStage, "helper": price.FactPerson, "reason": price.FactReason})
		e := price.Entry{Kind: price.EntryTime, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Seconds: price.Seconds(in.worked()), Facts: facts}
		if in.err == nil && e.Seconds == 0 {
			in.fail(&Mistake{Option: "worked", Given: in.text("worked"), Problem: "is no time", Try: "1h30"})
		}
		if in.has("pay") {
			pay := in.money("pay")
			facts[price.FactPay] = price.NumberFact(in.minor(pay))
			e.Amount = helperPay(in, facts[price.FactPerson], e.Seconds, pay)
		}
		return e, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	title := secondsText(e.Seconds) + " added to piece " + strconv.Itoa(e.Piece) + stageText(e.Facts[price.FactStage])
	if person := e.Facts[price.FactPerson]; person != "" {
		title += ", worked by " + oneLine(person)
	}
	reply, err := h.entered(ctx, in, e, title, "Read as: worked on "+dateText(e.Day)+".")
	if e.Amount > 0 {
		if c, err := price.ParseCurrency(e.Currency); err == nil {
			reply.Figures = append(reply.Figures, moneyFigure("helper_pay", "Pay of the helper, as a cost", price.NewMoney(e.Amount, c), req))
		}
	}
	return reply, err
}
