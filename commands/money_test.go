package commands

import (
	"math/rand/v2"
	"strings"
	"testing"

	iso "github.com/bojanz/currency"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
)

// The layouts are held against the library itself: its amounts are CLDR's.
func TestAmountsAreWrittenAsTheLibraryWritesThem(t *testing.T) {
	// The locales of https://discord.com/developers/docs/reference#locales, then what
	// has other digits, groups, signs or places for them, and what is no locale.
	locales := []string{"", "id", "da", "de", "en-GB", "en-US", "es-ES", "es-419", "fr", "hr", "it", "lt", "hu", "nl", "no", "pl", "pt-BR", "ro",
		"fi", "sv-SE", "vi", "tr", "cs", "el", "bg", "ru", "uk", "hi", "th", "zh-CN", "ja", "zh-TW", "ko",
		"ar", "ar-EG", "fa", "he", "ur", "bn", "mr", "ne", "my", "en-IN", "de-CH", "de-AT", "es", "pt-PT", "fr-CH", "en-ZA", "lv", "sl", "dz", "ckb", "uz-AF", "xx", "?"}
	random := rand.New(rand.NewPCG(7, 7))
	for _, locale := range locales {
		for _, code := range iso.GetCurrencyCodes() {
			c, err := price.ParseCurrency(code)
			require.NoError(t, err)
			minors := []int64{0, 1, -1, 9, 10, 99, 100, -101, 1234567890, price.MaxMinor, -price.MaxMinor}
			for most := int64(10); most <= price.MaxMinor; most *= 10 {
				minors = append(minors, random.Int64N(most), -random.Int64N(most))
			}
			for _, minor := range minors {
				amount, err := iso.NewAmountFromInt64(minor, code)
				require.NoError(t, err)
				f := iso.NewFormatter(iso.NewLocale(locale))
				if locale == "" {
					f = iso.NewFormatter(iso.NewLocale("en"))
				}
				f.MaxDigits = iso.DefaultDigits
				if want, got := f.Format(amount), moneyText(price.NewMoney(minor, c), locale); want != got {
					require.Equal(t, want, got, "%d of %s in %q", minor, code, locale)
				}
			}
		}
	}
}

// A member copies an amount from an answer into the next question.
func TestAnAmountIsReadBackAsItIsWritten(t *testing.T) {
	t.Parallel()
	for code := range strings.FieldsSeq("USD CAD AUD NZD SGD HKD MXN EUR GBP JPY CNY INR PLN SEK NOK DKK ISK CZK CHF ZAR BRL KRW ILS TRY PHP HUF UAH RUB THB TWD VND IDR RON KWD") {
		c, err := price.ParseCurrency(code)
		require.NoError(t, err)
		for locale := range strings.FieldsSeq("id da de en-GB en-US es-ES es-419 fr hr it lt hu nl no pl pt-BR ro fi sv-SE vi tr cs el ru uk th zh-CN ja zh-TW ko") {
			written := moneyText(price.NewMoney(123456, c), locale)
			read, _, err := price.ParseMoney(written, c)
			if code == "KWD" && err != nil {
				continue // 123,456 with its three decimals may be thousands
			}
			require.NoError(t, err, locale)
			minor, err := read.Minor()
			require.NoError(t, err)
			require.Equal(t, int64(123456), minor, written)
			require.Equal(t, c, read.Currency(), written)
		}
	}
}

func BenchmarkMoneyText(b *testing.B) {
	c, err := price.ParseCurrency("USD")
	require.NoError(b, err)
	m := price.NewMoney(123456, c)
	b.ReportAllocs()
	for b.Loop() {
		moneyText(m, "en-US")
	}
}
