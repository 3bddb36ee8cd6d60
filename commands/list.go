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
		h.batch(),
		h.boardfeet(),
		h.budget(),
		h.charge(),
		h.convert(),
		h.costOverhead(),
		h.costShare(),
		h.costTime(),
		h.costTool(),
		h.costTrip(),
		h.deflection(),
		h.finish(),
		h.hostAccess(),
		h.hostCategories(),
		h.hostCurrency(),
		h.hostRegions(),
		h.hostRemove(),
		h.hostRules(),
		h.hostShow(),
		h.listing(),
		h.lotAdd(),
		h.lotList(),
		h.marketHistory(),
		h.marketShow(),
		h.moisture(),
		h.movement(),
		h.offer(),
		h.panelFromBoards(),
		h.panelNeeds(),
		h.pieceClockIn(),
		h.pieceClockLimit(),
		h.pieceClockOut(),
		h.pieceClockRight(),
		h.pieceClose(),
		h.pieceCorrect(),
		h.pieceCost(),
		h.pieceDelete(),
		h.pieceExport(),
		h.pieceImport(),
		h.pieceLearn(),
		h.pieceList(),
		h.pieceListing(),
		h.pieceOffer(),
		h.pieceOpen(),
		h.piecePlan(),
		h.piecePost(),
		h.pieceRename(),
		h.pieceReopen(),
		h.pieceShow(),
		h.pieceSold(),
		h.pieceStockBought(),
		h.pieceStockFound(),
		h.pieceStockShare(),
		h.pieceTake(),
		h.pieceTime(),
		h.pieceTrail(),
		h.pieceUndo(),
		h.pieceWipe(),
		h.price(),
		h.privacyExport(),
		h.privacyForget(),
		h.privacyOptIn(),
		h.privacyOptOut(),
		h.privacyShop(),
		h.privacyShow(),
		h.rate(),
		h.resin(),
		h.roomAnswer(),
		h.roomAsk(),
		h.roomClose(),
		h.roomShow(),
		h.saleMine(),
		h.saleShare(),
		h.saleWithdraw(),
		h.sawlog(),
		h.settingsForget(),
		h.settingsSet(),
		h.settingsShow(),
		h.settingsVenue(),
		h.species(),
		h.stamp(),
		h.weight(),
	}
	for i := range list {
		list[i].Run = tellingSettings(list[i].Run)
	}
	list = append(list, h.help(&list))
	return NewSet(list, cfg.Log, cfg.Reference)
}
