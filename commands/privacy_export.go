package commands

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"tallystick/calc/pool"
	"tallystick/store"
)

func (h house) privacyExport() Command {
	return Command{
		Path:     "privacy export",
		Summary:  "everything I keep of you, as a file",
		Private:  true,
		Examples: []string{"/privacy export"},
		Run:      h.answerPrivacyExport,
	}
}

// ownExport is the file, in JSON. Keys stay as they are once they have landed.
type ownExport struct {
	Made     string         `json:"made"`
	Currency string         `json:"currency"`
	Consent  *ownConsent    `json:"consent"`
	Shop     bool           `json:"shares_a_shop"`
	Sales    []exportedSale `json:"shared_sales"`
	Previews []ownPreview   `json:"previews"`
	// Settings are as people read them; venues stand behind them by name.
	Settings map[string]string `json:"settings"`
	// JobSheets is what /piece export gives, null where there are none.
	JobSheets json.RawMessage `json:"job_sheets"`
}

type ownConsent struct {
	Wording int    `json:"wording"`
	Given   string `json:"given"`
}

// exportedSale is a sale with its values as plain decimals, by the figure's key.
type exportedSale struct {
	Number       int                    `json:"number,omitempty"`
	Category     string                 `json:"category"`
	SpeciesGroup string                 `json:"species_group"`
	Region       string                 `json:"region"`
	Sold         string                 `json:"sold"`
	Values       map[string]json.Number `json:"values"`
}

type ownPreview struct {
	Code    string       `json:"code"`
	Expires string       `json:"expires"`
	Sale    exportedSale `json:"sale"`
}

func (h house) answerPrivacyExport(ctx context.Context, req Request) (Reply, error) {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	own, err := h.Store.Own(ctx, whoAsks(req))
	if err != nil {
		return Reply{}, err
	}
	made := req.Time.UTC()
	export := exportOf(own, community, made)
	if err := h.exportBeside(ctx, whoAsks(req), &export); err != nil {
		return Reply{}, err
	}
	text, err := json.MarshalIndent(export, "", "  ")
	if err != nil {
		return Reply{}, fmt.Errorf("writing export: %w", err)
	}
	return Reply{
		Title:   "Everything I keep of you",
		Private: true,
		File:    &File{Name: "tallystick-" + made.Format(time.DateOnly) + ".json", MediaType: "application/json", Bytes: append(text, '\n')},
		Notes: []string{
			"In the file: " + countOf(len(own.Sales), "shared sale", "shared sales") + ", " + countOf(len(own.Drafts), "preview", "previews") + ", " + consentText(own.Consent) + ", " + shopText(own.Shop) + ", your settings and your job sheets.",
			"It holds yours and nobody else's. Withdrawal codes are not in it: I keep only their scramble.",
		},
	}, nil
}

// exportBeside adds what never leaves for the shared log.
func (h house) exportBeside(ctx context.Context, who store.Who, export *ownExport) error {
	settings, err := h.Store.Settings(ctx, who)
	if err != nil {
		return err
	}
	export.Settings = map[string]string{}
	for _, name := range settingNames {
		if text := settingText(settings, name, "en"); text != "" {
			export.Settings[name] = text
		}
	}
	for _, v := range settings.Venues {
		export.Settings["venue "+v.Name] = venueText(v, "en")
	}
	ledger, err := h.Store.Ledger(ctx, who)
	if err != nil || len(ledger.Entries) == 0 {
		return err
	}
	export.JobSheets, err = writeLedger(ledger)
	return err
}

func exportOf(own store.Own, community store.Community, made time.Time) ownExport {
	out := ownExport{Made: made.Format(time.RFC3339), Currency: community.Currency, Shop: own.Shop,
		Sales: []exportedSale{}, Previews: []ownPreview{}}
	if own.Consent != nil {
		out.Consent = &ownConsent{own.Consent.Wording, own.Consent.Given.UTC().Format(time.DateOnly)}
	}
	for _, s := range own.Sales {
		one := exportSale(s.Sale)
		one.Number = s.Number
		out.Sales = append(out.Sales, one)
	}
	for _, d := range own.Drafts {
		out.Previews = append(out.Previews, ownPreview{d.Code, d.Expires.Format(time.RFC3339), exportSale(d.Sale)})
	}
	return out
}

func exportSale(s store.Sale) exportedSale {
	out := exportedSale{Category: s.Category, SpeciesGroup: s.SpeciesGroup, Region: s.Region, Sold: s.Sold.String(), Values: map[string]json.Number{}}
	for _, f := range pool.AllFigures() {
		if v, ok := s.Values.Of(f); ok {
			out.Values[f.String()] = json.Number(plainMicros(v))
		}
	}
	return out
}
