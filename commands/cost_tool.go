package commands

import (
	"context"
	"math/big"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// What a tool was bought for.
const (
	forThisJob = "this-job"
	forMany    = "lasting"
)

func (h house) costTool() Command {
	return Command{
		Path:    "cost tool",
		Summary: "what an hour with a tool costs, and whether one bought in mid-job is a job cost",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "price", Summary: "what it cost ready for work: tax, carriage and fitting added with +", Kind: Money, Required: true, MaxLength: 200, Example: "620"},
			{Name: "resale", Summary: "what it will fetch at the end; nothing unless you say", Kind: Money, Example: "120"},
			{Name: "life", Summary: "the hours of work it will last", Kind: Hours, Example: "1000"},
			{Name: "years", Summary: "or and the years it will last", Kind: Number, Example: "5"},
			{Name: "used", Summary: "your hours with it on this piece", Kind: Hours, Example: "3.5"},
			{Name: "use", Summary: "whether it outlasts this job", Kind: Word, Example: forThisJob, Choices: []Choice{
				{forThisJob, "for this job only"}, {forMany, "lasts for many"}}},
		},
		Examples: []string{
			"/cost tool price:620 resale:120 life:1000 used:3.5",
			"/cost tool price:45 use:this-job",
			"/cost tool price:540 + 15 + 25 resale:100 years:5",
		},
		Run: h.answerCostTool,
	}
}

// yearsMost is longer than any machine is written down over.
const yearsMost = 40

func (h house) answerCostTool(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	t := tool{in: in, Asset: price.Asset{Cost: in.money("price"), Resale: in.money("resale")},
		life: in.hours("life"), used: in.hours("used"), years: in.whole("years", 1, yearsMost), jobOnly: req.Options["use"] == forThisJob}
	switch {
	case in.err != nil:
	case t.Resale.Cmp(t.Cost) > 0:
		in.fail(&Mistake{Option: "resale", Given: measure.Quote(req.Options["resale"]), Problem: "is more than the tool cost", Try: "what it will fetch when it is worn"})
	case in.has("life") && t.life <= 0:
		in.fail(&Mistake{Option: "life", Given: measure.Quote(req.Options["life"]), Problem: "is no time to last", Try: "1000"})
	case !in.has("life") && !in.has("years") && !t.jobOnly:
		in.fail(&Mistake{Option: "life", Problem: "or years is needed, else I cannot spread the price", Try: "life:1000, or use:this-job"})
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	return t.answer()
}

type tool struct {
	in *reading
	price.Asset
	life, used time.Duration
	years      int
	jobOnly    bool
}

func (t tool) answer() (Reply, error) {
	req := t.in.req
	reply := Reply{Title: "What the tool costs", Private: true}
	if t.jobOnly {
		reply.Figures = append(reply.Figures, moneyFigure("job_cost", "A cost of this job", t.Wear(), req))
		reply.Notes = append(reply.Notes, t.read(), "Bought for this job and used up on it, its price less what it will fetch is a direct cost: add all of it to materials.", t.taxNote())
		return reply, nil
	}
	if t.life > 0 {
		if err := t.hourly(&reply); err != nil {
			return Reply{}, err
		}
	}
	if t.years > 0 {
		if err := t.yearly(&reply); err != nil {
			return Reply{}, err
		}
	}
	reply.Notes = append(said(t.read()), reply.Notes...)
	reply.Notes = append(reply.Notes, "A tool that outlasts the job is charged by its hours, also when it was bought in the middle of one; the rest of its price is no cost of this piece.", t.taxNote())
	return reply, nil
}

// hourly adds what an hour costs and what the hours of this piece do.
func (t tool) hourly(reply *Reply) error {
	locale := t.in.req.Locale
	each, err := t.PerUse(hoursRat(t.life))
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, Figure{Key: "tool_hourly", Label: "An hour with it", Value: each.Fine(), Unit: each.Currency().Code() + "/h", Text: fineText(each, locale) + " an hour"})
	if t.used <= 0 {
		reply.Notes = append(reply.Notes, "To see what this piece bears, add used:3.5.")
		return nil
	}
	cost, err := t.Used(hoursRat(t.used), hoursRat(t.life))
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, moneyFigure("job_cost", "For this piece", cost, t.in.req))
	reply.Notes = append(reply.Notes, "Units of production: (price − resale) / life, an hour at a time. The cost of this piece is rounded to the nearest "+coin(t.in.currency, locale)+".")
	return nil
}

// yearly adds the wear of a year and what the tool is worth after each.
func (t tool) yearly(reply *Reply) error {
	locale := t.in.req.Locale
	each, err := t.StraightLine(t.years)
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, moneyFigure("tool_yearly", "A year of it, straight line", each, t.in.req))
	declining, err := t.DoubleDeclining(t.years)
	if err != nil {
		return err
	}
	table := Table{Title: "What it is worth after each year", Columns: []string{"year", "straight line", "double declining"}}
	worth := t.Cost
	for i, loss := range declining {
		book, err := t.BookValue(i+1, t.years)
		if err != nil {
			return err
		}
		if worth, err = worth.Less(loss); err != nil {
			return err
		}
		table.Rows = append(table.Rows, []string{strconv.Itoa(i + 1), moneyText(book, locale), moneyText(worth, locale)})
	}
	reply.Tables = append(reply.Tables, table)
	reply.Notes = append(reply.Notes, "The yearly wear belongs to your overhead: /cost overhead yearly:"+each.Plain()+" and the rest of the year's costs.")
	return nil
}

func (t tool) read() string {
	locale := t.in.req.Locale
	resale, life, years, used := "", "", "", ""
	if t.in.has("resale") {
		resale = moneyText(t.Resale, locale) + " at the end"
	}
	if t.life > 0 {
		life = measure.FormatDuration(t.life) + " of work"
	}
	if t.years > 0 {
		years = strconv.Itoa(t.years) + " years"
	}
	if t.used > 0 {
		used = measure.FormatDuration(t.used) + " on this piece"
	}
	return sentence("Read as: ", moneyText(t.Cost, locale)+" for the tool", resale, life, years, used)
}

// taxNote keeps what a piece costs apart from what a tax return may hold. The
// limit is in Treas. Reg. 1.263(a)-1(f), looked up on pages that restate it.
func (t tool) taxNote() string {
	note := "This is costing, not a tax return."
	if t.in.currency.Code() == "USD" {
		note += " In the US a de minimis rule (Treas. Reg. 1.263(a)-1(f), as pages restating it have it) may let an item of up to $2,500 be written off at once."
	}
	return note + " What applies to you is for your tax authority or adviser to say."
}

func hoursRat(d time.Duration) *big.Rat { return big.NewRat(int64(d), int64(time.Hour)) }
