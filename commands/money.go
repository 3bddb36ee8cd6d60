package commands

import (
	"cmp"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

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
	c := m.Currency()
	var room, figures [24]byte
	written := strconv.AppendUint(figures[:0], uint64(max(minor, -minor)), 10)
	digits := room[:0]
	for range int(c.Digits()) + 1 - len(written) {
		digits = append(digits, '0')
	}
	digits = append(digits, written...)
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

func (l moneyLayout) fill(digits []byte) string {
	var room [64]byte
	out := room[:0]
	for _, r := range l.text {
		if r == l.one {
			r += rune(digits[0]) - '1'
			digits = digits[1:]
		}
		out = utf8.AppendRune(out, r)
	}
	return string(out)
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

var layouts = moneyLayouts{known: map[layoutKey]moneyLayout{}}

type moneyLayouts struct {
	mu    sync.RWMutex
	known map[layoutKey]moneyLayout
}

func (l *moneyLayouts) of(k layoutKey) (moneyLayout, error) {
	l.mu.RLock()
	known, ok := l.known[k]
	l.mu.RUnlock()
	if ok {
		return known, nil
	}
	layout, err := k.ask()
	if err != nil {
		return layout, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.known) < mostLayouts {
		l.known[k] = layout
	}
	return layout, nil
}
