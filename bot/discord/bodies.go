package discord

import (
	"bytes"

	"tallystick/commands"
)

// ReplyBodies are the bodies with which a reply is sent as the first answer to a
// request, one a message, as JSON. The files that go with them are left out. They
// are for holding what members see against files that were read.
func ReplyBodies(set *commands.Set, reply commands.Reply, req commands.Request) ([][]byte, error) {
	of, _ := set.Command(req.Path)
	var out [][]byte
	picture, err := draw(reply.Picture, req, false)
	if err != nil {
		return nil, err
	}
	for _, page := range renderFor(reply, req, of, picture) {
		page.files = nil
		_, body, err := parcel(page, &bytes.Buffer{})
		if err != nil {
			return nil, err
		}
		out = append(out, body)
	}
	return out, nil
}

// FormBody is the data of the form that a request opens, as JSON; nil where none
// is opened.
func FormBody(form *commands.Form) ([]byte, error) {
	m, fits := drawForm(form)
	if !fits {
		return nil, nil
	}
	_, body, err := parcel(m, &bytes.Buffer{})
	return body, err
}
