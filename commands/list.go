package commands

import (
	"log/slog"

	"tallystick/calc/measure"
	"tallystick/store"
)

// Config is what the commands are built on.
type Config struct {
	Store *store.Store
	Log   *slog.Logger
	// Bare is the unit a bare number takes: measure.Inch or measure.Millimetre.
	Bare measure.Length
	// Reference makes the mark that a fault is told and logged under.
	Reference func() string
}

// house is where every handler lives; each command is a method in its own file.
type house struct{ Config }

// New builds the commands. A new one is one line here.
func New(cfg Config) (*Set, error) {
	h := house{cfg}
	list := []Command{
		h.boardfeet(),
		h.convert(),
		h.hostAccess(),
		h.hostCategories(),
		h.hostCurrency(),
		h.hostRegions(),
		h.hostRemove(),
		h.hostRules(),
		h.hostShow(),
		h.marketHistory(),
		h.marketShow(),
		h.price(),
		h.privacyExport(),
		h.privacyForget(),
		h.privacyOptIn(),
		h.privacyOptOut(),
		h.privacyShop(),
		h.privacyShow(),
		h.rate(),
		h.saleMine(),
		h.saleShare(),
		h.saleWithdraw(),
	}
	list = append(list, help(&list))
	return NewSet(list, cfg.Log, cfg.Reference)
}
