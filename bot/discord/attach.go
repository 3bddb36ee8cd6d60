package discord

import (
	"bytes"
	"encoding/json"
	"strconv"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// altLimit is how long an attachment's description may be.
// https://discord.com/developers/docs/resources/message#attachment-object
const altLimit = 1024

// attachment names a file of the request it stands in.
type attachment struct {
	ID          string `json:"id"`
	Filename    string `json:"filename"`
	Description string `json:"description,omitempty"`
}

// enclosed is a file that travels with a message.
type enclosed struct {
	name, media string
	content     []byte
}

// pictureButton is the button that puts the picture into the card, nil where none
// can: the answer is asked for once more, and not every request fits into an id.
// Only the asker may press it, for the card is then as who presses it asks.
func pictureButton(p *commands.Picture, req commands.Request) *button {
	if p == nil || p.Again == nil {
		return nil
	}
	id, fits := encodeMarked(pictureMark, *p.Again, ownerMark(req.Member))
	if !fits {
		return nil
	}
	b := newButton(oneLine(p.Again.Label), id)
	return &b
}

// shownPicture is how the picture of a reply goes out: drawn, or as a button that
// asks for it; neither where there is none.
type shownPicture struct {
	png   []byte
	again *button
}

// draw gives a picture as a button where one can ask for it, unless the picture
// itself is wanted.
func draw(p *commands.Picture, req commands.Request, wanted bool) (shown shownPicture, err error) {
	if p == nil {
		return shown, nil
	}
	if !wanted {
		shown.again = pictureButton(p, req)
	}
	if shown.again == nil {
		shown.png, err = p.PNG()
	}
	return shown, err
}

// enclose puts a picture into a message, shown under its text, with the words for
// who cannot see it.
func (m *message) enclose(p *commands.Picture, png []byte) {
	if len(png) == 0 || len(m.Embeds) == 0 {
		return
	}
	m.Attachments = []attachment{{ID: "0", Filename: p.Name, Description: shorten(plain(p.Alt()), altLimit)}}
	m.files = []enclosed{{p.Name, "image/png", png}}
	m.Embeds[0].Image = &discordgo.MessageEmbedImage{URL: "attachment://" + p.Name}
}

// append puts a file beside the text.
func (m *message) append(f *commands.File) {
	if f == nil {
		return
	}
	m.Attachments = append(m.Attachments, attachment{ID: strconv.Itoa(len(m.files)), Filename: f.Name})
	m.files = append(m.files, enclosed{f.Name, f.MediaType, f.Bytes})
}

// parcel encodes a request's body: with files in parts, else as JSON, for which it may
// take the room of into.
func parcel(body any, into *bytes.Buffer) (contentType string, encoded []byte, err error) {
	const plainJSON = "application/json"
	if body == nil {
		return plainJSON, nil, nil
	}
	if files := filesOf(body); len(files) > 0 {
		parts := make([]*discordgo.File, len(files))
		for i, f := range files {
			parts[i] = &discordgo.File{Name: f.name, ContentType: f.media, Reader: bytes.NewReader(f.content)}
		}
		return discordgo.MultipartBodyWithJSON(body, parts)
	}
	if err := json.NewEncoder(into).Encode(body); err != nil {
		return "", nil, err
	}
	return plainJSON, bytes.TrimSuffix(into.Bytes(), []byte("\n")), nil
}

func filesOf(body any) []enclosed {
	switch b := body.(type) {
	case message:
		return b.files
	case updated:
		return b.files
	case callback:
		return filesOf(b.Data)
	}
	return nil
}
