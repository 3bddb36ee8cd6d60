package commands

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func blank(text string) bool { return strings.TrimSpace(text) == "" }

// moneyFigure is an amount as a figure of a reply.
func moneyFigure(key, label string, m price.Money, req Request) Figure {
	return Figure{Key: key, Label: label, Value: m.Plain(), Unit: m.Currency().Code(), Text: moneyText(m, req.Locale)}
}

// fineText writes an amount that may be finer than the smallest coin: a rate for
// a small unit.
func fineText(m price.Money, locale string) string {
	if _, err := m.Minor(); err == nil {
		return moneyText(m, locale)
	}
	return m.Fine() + " " + m.Currency().Code()
}

// percentOf writes a share of one as a percentage with one decimal.
func percentOf(share decimal.Decimal) string { return price.PercentOf(share, 1) + " %" }

// percentFigure is a share of one as a figure of a reply.
func percentFigure(key, label string, share decimal.Decimal) Figure {
	percent := price.PercentOf(share, 1)
	return Figure{Key: key, Label: label, Value: percent, Unit: "%", Text: percent + " %"}
}

// timeFigure is a time as a figure of a reply, in hours to four decimals.
func timeFigure(key, label string, d time.Duration) Figure {
	hours := decimal.New(int64(d), 0).DivRound(decimal.New(int64(time.Hour), 0), 4)
	return Figure{Key: key, Label: label, Value: hours.String(), Unit: "h", Text: measure.FormatDuration(d)}
}

// hourlyFigure is an amount an hour as a figure of a reply.
func hourlyFigure(key, label string, m price.Money, req Request) Figure {
	f := moneyFigure(key, label, m, req)
	f.Unit += "/h"
	f.Text += " an hour"
	return f
}

// coin is the smallest amount of a currency, as people write it.
func coin(c price.Currency, locale string) string { return moneyText(price.NewMoney(1, c), locale) }

// sentence joins the parts that are there with commas and ends with a full stop.
func sentence(lead string, parts ...string) string {
	var b strings.Builder
	b.WriteString(lead)
	for _, p := range parts {
		if p == "" {
			continue
		}
		if b.Len() > len(lead) {
			b.WriteString(", ")
		}
		b.WriteString(p)
	}
	b.WriteByte('.')
	return b.String()
}

// several is a number with its noun.
func several(n int, noun string) string {
	if n == 1 {
		return "one " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// then is a sentence with another behind it, where there is one.
func then(first, second string) string { return strings.TrimSpace(first + " " + second) }

// said is the notes that say something.
func said(notes ...string) []string {
	return slices.DeleteFunc(notes, blank)
}

// fractionText is a stored percentage as people read it.
func fractionText(billionths int64) string { return price.FractionOf(billionths).Percent() + " %" }
