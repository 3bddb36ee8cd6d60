package commands

import (
	"cmp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	iso "github.com/bojanz/currency"

	"tallystick/calc/price"
)

// moneyText writes an amount as the reader's locale does. It only formats: the
// amount was rounded before.
func moneyText(m price.Money, locale string) string {
	minor, err := m.Minor()
	if err != nil {
		return m.String()
	}
	digits, c := strconv.FormatUint(uint64(max(minor, -minor)), 10), m.Currency()
	if short := int(c.Digits()) + 1 - len(digits); short > 0 {
		digits = strings.Repeat("0", short) + digits
	}
	layout, err := layouts.of(layoutKey{cmp.Or(locale, "en"), c.Code(), len(digits), minor < 0})
	if err != nil {
		return m.String()
	}
	return layout.fill(digits)
}

// A moneyLayout is how amounts of so many digits are written: the text of the one
// in which each digit is a one. Filling one in costs a fifteenth of what
// the library takes for an amount.
type moneyLayout struct {
	text string
	one  rune
}

func (l moneyLayout) fill(digits string) string {
	var b strings.Builder
	b.Grow(len(l.text))
	for _, r := range l.text {
		if r == l.one {
			r += rune(digits[0]) - '1'
			digits = digits[1:]
		}
		b.WriteRune(r)
	}
	return b.String()
}

type layoutKey struct {
	locale, currency string
	digits           int
	negative         bool
}

// ask has the library write the amount of ones.
func (k layoutKey) ask() (moneyLayout, error) {
	minor, err := strconv.ParseInt(strings.Repeat("1", k.digits), 10, 64)
	if err != nil {
		return moneyLayout{}, err
	}
	if k.negative {
		minor = -minor
	}
	amount, err := iso.NewAmountFromInt64(minor, k.currency)
	if err != nil {
		return moneyLayout{}, err
	}
	f := iso.NewFormatter(iso.NewLocale(k.locale))
	f.MaxDigits = iso.DefaultDigits
	l := moneyLayout{text: f.Format(amount), one: '1'}
	for _, one := range "١۱১१၁" { // the ones of the other digits that the library writes
		if strings.ContainsRune(l.text, one) {
			l.one = one
		}
	}
	return l, nil
}

// mostLayouts is far more than members of one program read in. A locale is what
// the platform says, so there is an end to how many are kept.
const mostLayouts = 4096

var layouts moneyLayouts

type moneyLayouts struct {
	known sync.Map
	count atomic.Int64
}

func (l *moneyLayouts) of(k layoutKey) (moneyLayout, error) {
	if known, ok := l.known.Load(k); ok {
		return known.(moneyLayout), nil
	}
	layout, err := k.ask()
	if err == nil && l.count.Add(1) <= mostLayouts {
		l.known.Store(k, layout)
	}
	return layout, err
}
