package commands

import (
	"context"

	"tallystick/store"
)

func (h house) hostAccess() Command {
	return Command{
		Path:     "host access",
		Summary:  "say who may share with the log and read its figures",
		Private:  true,
		HostOnly: true,
		Options: []Option{{Name: "who", Summary: "everybody, only members who opted in, or nobody but you", Kind: Word, Required: true, Example: "everybody",
			Choices: []Choice{{"everybody", "everybody"}, {"sharers", "members who opted in"}, {"host", "the host alone"}}}},
		Examples: []string{"/host access who:sharers"},
		Run:      h.answerHostAccess,
	}
}

func (h house) answerHostAccess(ctx context.Context, req Request) (Reply, error) {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	if community.Access = store.Access(req.Options["who"]); community.Access == "everybody" {
		community.Access = store.Everybody
	}
	if err := h.Store.SetCommunity(ctx, req.Community, community); err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "Who may use the log: " + accessText(community.Access),
		Private: true,
		Notes:   []string{"Everybody can always see, export, withdraw and erase what is their own. Releases go on as before."},
	}, nil
}

// admit is nil when the member may use the log, else the refusal.
func (h house) admit(ctx context.Context, req Request, community store.Community) error {
	if req.Host {
		return nil
	}
	switch community.Access {
	case store.HostOnly:
		return &Refusal{"The log rests here: its host has closed it for now. What is yours stays within reach: /privacy show."}
	case store.Sharers:
		_, agreed, err := h.Store.Consent(ctx, whoAsks(req))
		if err != nil {
			return err
		}
		if !agreed {
			return &Refusal{"This log is for members who opted in. What that means, and how: /privacy opt-in. It shares nothing by itself."}
		}
	}
	return nil
}
