package commands

import (
	"context"

	"tallystick/calc/measure"
	"tallystick/store"
)

func (h house) hostRemove() Command {
	return Command{
		Path:     "host remove",
		Summary:  "withdraw all sales of a member, without seeing them",
		Private:  true,
		HostOnly: true,
		Options: []Option{
			{Name: "member", Summary: "whose sales", Kind: Person, Required: true, Example: "ann"},
			yesConfirm,
		},
		Examples: []string{"/host remove member:ann"},
		Run:      h.answerHostRemove,
	}
}

func (h house) answerHostRemove(ctx context.Context, req Request) (Reply, error) {
	member := req.Options["member"]
	if blank(req.Options["confirm"]) {
		return Reply{
			Title:   "This withdraws whatever " + measure.Quote(member) + " has shared",
			Private: true,
			Notes:   []string{"At once and for good. You are not told what or how much it was, nor whether there was anything."},
			Actions: []Action{{Label: "Withdraw it", Path: "host remove", Options: map[string]string{"member": member, "confirm": "yes"}}},
		}, nil
	}
	if err := h.Store.RemoveMember(ctx, store.Who{Community: req.Community, Member: member}, req.Delivery, req.Time); err != nil {
		return Reply{}, err
	}
	return Reply{Title: "Whatever " + measure.Quote(member) + " had shared is withdrawn", Private: true,
		Notes: []string{"Published medians follow at the next release that may change them. They may share again; to close the log for a while: /host access."}}, nil
}
