package commands

import (
	"strings"

	iso "github.com/bojanz/currency"

	"tallystick/calc/price"
)

func blank(text string) bool { return strings.TrimSpace(text) == "" }

// moneyText writes an amount as the reader's locale does. It only formats: the
// amount was rounded before.
func moneyText(m price.Money, locale string) string {
	minor, err := m.Minor()
	if err != nil {
		return m.String()
	}
	amount, err := iso.NewAmountFromInt64(minor, m.Currency().Code())
	if err != nil {
		return m.String()
	}
	if locale == "" {
		locale = "en"
	}
	f := iso.NewFormatter(iso.NewLocale(locale))
	f.MaxDigits = iso.DefaultDigits
	return f.Format(amount)
}

// moneyFigure is an amount as a figure of a reply.
func moneyFigure(key, label string, m price.Money, req Request) Figure {
	return Figure{Key: key, Label: label, Value: m.Plain(), Unit: m.Currency().Code(), Text: moneyText(m, req.Locale)}
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
	var said []string
	for _, p := range parts {
		if p != "" {
			said = append(said, p)
		}
	}
	return lead + strings.Join(said, ", ") + "."
}
