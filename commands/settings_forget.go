package commands

import (
	"context"
	"strings"

	"tallystick/calc/measure"
	"tallystick/store"
)

func (h house) settingsForget() Command {
	return Command{
		Path:    "settings forget",
		Summary: "drop one of your settings, or all of them with your venues",
		Private: true,
		Options: []Option{
			{Name: "setting", Summary: "the one to drop", Kind: Word, Example: "rate", Choices: settingChoices()},
			{Name: "all", Summary: "or everything you have set, venues included", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}},
		},
		Examples: []string{"/settings forget setting:rate", "/settings forget all:yes"},
		Run:      h.answerSettingsForget,
	}
}

func settingChoices() []Choice {
	choices := make([]Choice, len(settingNames))
	for i, name := range settingNames {
		choices[i] = Choice{name, name}
	}
	return choices
}

func (h house) answerSettingsForget(ctx context.Context, req Request) (Reply, error) {
	who := store.Who{Community: req.Community, Member: req.Member}
	name, all := strings.TrimSpace(req.Options["setting"]), !blank(req.Options["all"])
	if (name == "") == !all {
		return Reply{}, &Mistake{Option: "setting", Problem: "or all says what to drop, one of the two", Try: req.command.Examples[0]}
	}
	if all {
		there, err := h.Store.DropSettings(ctx, who)
		if err != nil {
			return Reply{}, err
		}
		reply := Reply{Title: "All your settings are dropped", Private: true, Notes: []string{
			"Your rates, tax, units and venues are gone from the database. Shared sales are another matter: /sale mine."}}
		if !there {
			reply.Title, reply.Notes = "You have set nothing yet", []string{"There was nothing to drop."}
		}
		return reply, nil
	}
	err := h.Store.ChangeSettings(ctx, who, req.Delivery, req.Time, func(s *store.Settings) error {
		if !clearSetting(s, name) {
			return &Mistake{Option: "setting", Given: measure.Quote(name), Problem: "is not set", Try: "/settings show to see what is"}
		}
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	after, err := h.Store.Settings(ctx, who)
	if err != nil {
		return Reply{}, err
	}
	return shownSettings("Dropped: "+name, after, req.Locale), nil
}
