package commands

import (
	"context"

	"tallystick/store"
)

// prefillSettings shows in the form what is set already. Amounts in the currency
// that counts stand without it, as they are typed.
func (h house) prefillSettings(ctx context.Context, req Request) (map[string]string, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return nil, err
	}
	values := map[string]string{}
	for name, a := range map[string]*store.Amount{"rate": in.settings.Rate, "lowest-rate": in.settings.LowestRate, "step": in.settings.Step} {
		if a == nil {
			continue
		}
		if m, ok := amountOf(*a); ok {
			values[name] = m.Plain()
			if m.Currency() != in.currency {
				values[name] += " " + m.Currency().Code()
			}
		}
	}
	for name, p := range map[string]*int64{"haggle": in.settings.Haggle, "tax": in.settings.Tax} {
		if p != nil {
			values[name] = fractionText(*p)
		}
	}
	return values, nil
}
