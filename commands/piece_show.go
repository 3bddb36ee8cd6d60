package commands

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceShow() Command {
	return Command{
		Path:     "piece show",
		Summary:  "the job sheet: hours by stage, costs, break-even, what the ask would pay",
		Private:  true,
		Options:  []Option{h.pieceOption()},
		Examples: []string{"/piece show", "/piece show piece:2"},
		Run:      h.answerPieceShow,
	}
}

func (h house) answerPieceShow(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	var reply Reply
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		p, err := in.piece(ctx, b)
		if err != nil {
			return err
		}
		reply, err = h.sheetOf(ctx, in, b, p.Number)
		return err
	})
	return reply, err
}

// sheetOf is the sheet of a piece, and once it is sold the final accounting.
func (h house) sheetOf(ctx context.Context, in *reading, b *store.Book, number int) (Reply, error) {
	p, err := b.Piece(ctx, number)
	if err != nil {
		return Reply{}, err
	}
	s, err := b.Sheet(ctx, number)
	if err != nil {
		return Reply{}, err
	}
	d := drawing{in: in, piece: p, sheet: s, reply: Reply{Title: pieceTitle(p), Private: true}}
	if s.Sale != nil {
		err = d.account()
	} else {
		err = d.draw()
	}
	if err != nil {
		return Reply{}, err
	}
	d.doubts()
	notes, err := h.clockNotesOf(ctx, in, b)
	d.reply.Notes = append(d.reply.Notes, notes...)
	d.reply.Notes = append(d.reply.Notes, "Times are shown to the minute and kept to the second. Prices are rounded up to the next "+
		coin(s.Currency, in.req.Locale)+", everything else to the nearest. No sales tax is in these figures.")
	d.clockAction()
	if s.Sale == nil && (s.OwnSeconds() > 0 || s.Cost() > 0) { // else there is nothing to go by
		d.reply.Actions = append(d.reply.Actions, Action{Label: "What to charge", Path: "charge", Options: map[string]string{"piece": strconv.Itoa(number)}})
	}
	d.reply.Actions = append(d.reply.Actions, Action{Label: "The entries", Path: "piece trail", Options: map[string]string{"piece": strconv.Itoa(number)}})
	return d.reply, err
}

// drawing is a reply about one sheet in the making.
type drawing struct {
	in    *reading
	piece store.Piece
	sheet price.Sheet
	reply Reply
}

func (d *drawing) money(minor int64) string {
	return moneyText(d.sheet.Money(minor), d.in.req.Locale)
}

func (d *drawing) figure(f Figure) { d.reply.Figures = append(d.reply.Figures, f) }

// draw shows a piece that is not sold.
func (d *drawing) draw() error {
	s, job := d.sheet, d.sheet.Job()
	d.times()
	breakEven, err := job.BreakEven()
	if err != nil {
		return err
	}
	d.figure(moneyFigure("break_even", "Break-even now, your own time unpaid", breakEven, d.in.req))
	if s.Facts.Has(price.FactRate) && job.Hours > 0 {
		target, err := job.Target(s.Wanted())
		if err != nil {
			return err
		}
		d.figure(moneyFigure("target_price", "Target, pays your rate", target, d.in.req))
		if s.Facts.Has(price.FactHaggle) {
			asking, err := job.Asking(s.Wanted(), s.Facts.Fraction(price.FactHaggle))
			if err != nil {
				return err
			}
			d.figure(moneyFigure("asking_price", "Asking, with room to haggle", asking, d.in.req))
		}
	}
	if s.Ask > 0 {
		d.figure(moneyFigure("asked_price", "Asked now", s.Money(s.Ask), d.in.req))
		if job.Hours > 0 {
			hourly, err := job.Hourly(s.Money(s.Ask))
			if err != nil {
				return err
			}
			d.figure(hourlyFigure("ask_hourly", "The ask would pay", hourly, d.in.req))
		}
		d.figure(countFigure("days_listed", "Days listed", s.DaysListed(today(d.in.req)), "days"))
	}
	d.tables()
	if err := d.offers(); err != nil {
		return err
	}
	d.reply.Notes = append(d.reply.Notes, d.planLine())
	d.clocks()
	if hole := d.hole(); hole != "" {
		d.reply.Notes = append(d.reply.Notes, hole)
	}
	return nil
}

// times shows hours and costs in sum.
func (d *drawing) times() {
	s := d.sheet
	d.figure(hoursFigure("worked", "Your time", s.OwnSeconds()))
	if n := s.HelperSeconds(); n > 0 {
		d.figure(hoursFigure("helper_worked", "Helpers' time", n))
	}
	d.figure(moneyFigure("direct_cost", "Costs", s.Money(s.Cost()), d.in.req))
	if s.Millionths > 0 {
		d.figure(Figure{Key: "board_feet", Label: "Wood in it, by volume", Value: strings.TrimSuffix(millionthsText(s.Millionths, price.UnitBoardFeet), " board feet"),
			Unit: "bf", Text: millionthsText(s.Millionths, price.UnitBoardFeet)})
	}
}

// tables shows hours by stage and costs by kind, and where the piece is offered.
func (d *drawing) tables() {
	s := d.sheet
	if len(s.Work) > 0 {
		t := Table{Title: "Hours by stage", Columns: []string{"stage", "time"}}
		for _, w := range s.Work {
			stage := oneLine(w.Stage)
			if stage == "" {
				stage = "no stage"
			}
			if w.Person != "" {
				stage += ", " + oneLine(w.Person)
			}
			t.Rows = append(t.Rows, []string{stage, secondsText(w.Seconds)})
		}
		d.reply.Tables = append(d.reply.Tables, t)
	}
	if len(s.Costs) > 0 {
		t := Table{Title: "Costs by kind", Columns: []string{"kind", "cost"}}
		for _, group := range price.CostGroups {
			if amount, ok := s.Costs[group]; ok {
				t.Rows = append(t.Rows, []string{group, d.money(amount)})
			}
		}
		d.reply.Tables = append(d.reply.Tables, t)
	}
	if len(s.Posts) > 0 {
		t := Table{Title: "Offered at", Columns: []string{"where", "since", "price", "cuts"}}
		for _, p := range s.Posts {
			where := oneLine(p.Venue)
			if p.Down {
				where += " (down)"
			}
			t.Rows = append(t.Rows, []string{where, shortDay(p.Since), d.money(p.Now), strconv.Itoa(p.Cuts)})
		}
		d.reply.Tables = append(d.reply.Tables, t)
	}
}

// offers shows who would pay what, and what each would pay an hour.
func (d *drawing) offers() error {
	job := d.sheet.Job()
	t := Table{Title: "Offers", Columns: []string{"who", "offer", "an hour", "held"}}
	for _, o := range d.sheet.Offers {
		row := []string{oneLine(o.Who), d.money(o.Amount), "", ""}
		if job.Hours > 0 {
			hourly, err := job.Hourly(d.sheet.Money(o.Amount))
			if err != nil {
				return err
			}
			row[2] = moneyText(hourly, d.in.req.Locale)
		}
		switch left := o.Hold - d.in.req.Time.Unix(); {
		case d.sheet.Sale != nil && price.StageKey(d.sheet.Sale.To) == price.StageKey(o.Who):
			row[3] = "bought it"
		case o.Gone:
			row[3] = "gone"
		case d.sheet.Sale != nil:
			row[3] = "over"
		case o.Hold == 0:
			row[3] = "not held"
		case left <= 0:
			row[3] = "hold over"
		default:
			row[3] = longText(left) + " more"
		}
		t.Rows = append(t.Rows, row)
	}
	if len(t.Rows) > 0 {
		d.reply.Tables = append(d.reply.Tables, t)
	}
	return nil
}

// planLine repeats the plan.
func (d *drawing) planLine() string {
	line := "Opened " + dateText(d.sheet.Opened) + ", " + statusText(d.sheet.Status)
	if d.sheet.Ended > 0 {
		line += " on " + dateText(d.sheet.Ended)
	}
	if plan := d.in.planRead(d.sheet.Facts, d.sheet.Currency); plan != "" {
		line += ": " + plan
	}
	return line + "."
}

// clocks tells which clocks run.
func (d *drawing) clocks() {
	for _, c := range d.sheet.Running {
		d.reply.Notes = append(d.reply.Notes, capital(clockName(c.Person))+" runs"+stageText(c.Stage)+" for "+
			longText(max(d.in.req.Time.Unix()-c.Began, 0))+"; it counts once it is stopped.")
	}
}

// clockAction starts the maker's clock, or stops it.
func (d *drawing) clockAction() {
	if d.sheet.Ended > 0 {
		return
	}
	a := Action{Label: "Start the clock", Path: "piece clock in", Options: map[string]string{"piece": strconv.Itoa(d.piece.Number)}}
	for _, c := range d.sheet.Running {
		if c.Person == "" {
			a = Action{Label: "Stop the clock", Path: "piece clock out", Options: map[string]string{}}
		}
	}
	d.reply.Actions = append(d.reply.Actions, a)
}

// doubts tells which stopped clocks count nothing yet.
func (d *drawing) doubts() {
	for _, c := range d.sheet.Doubtful {
		d.reply.Notes = append(d.reply.Notes, fmt.Sprintf("Entry %d counts nothing yet: %s%s was stopped after %s. What is right? %s",
			c.Entry, clockName(c.Person), stageText(c.Stage), longText(c.Elapsed), rightLine(c.Person)))
	}
}

// hole names the one missing thing that matters most.
func (d *drawing) hole() string {
	s := d.sheet
	switch {
	case s.Ended > 0:
		return ""
	case s.OwnSeconds() == 0:
		return "No hours yet: I can give the break-even only. Start with /piece clock in, or add /piece time worked:1h30."
	case !s.Facts.Has(price.FactRate):
		return "No wanted rate yet: I can give the break-even only. Say it with /piece plan rate:25."
	case s.Cost() == 0:
		return "No costs yet: I counted nothing for wood, finish or the trip. Add them with /piece stock and /piece cost."
	case s.Ask == 0:
		return "Not offered anywhere yet: /piece post where:market board price:480."
	}
	return ""
}
