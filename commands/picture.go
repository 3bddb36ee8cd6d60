package commands

import (
	"encoding/json"
	"fmt"
	"sync"
)

// Picture is a chart or a diagram. It is drawn when somebody asks for its file and
// not before: the words are ready in a fraction of the time.
type Picture struct {
	// Name is a file name such as "panel.png".
	Name string
	// Alt says what the picture shows, for who cannot see it: at most 1,024
	// characters.
	Alt string
	// Again asks for the answer once more, which has no effect. A transport may leave
	// the picture out until somebody wants to see it; nil where it must not.
	Again *Action

	draw func() ([]byte, error)
}

// NewPicture is a picture that draw draws as a PNG file, at most once.
func NewPicture(name, alt string, draw func() ([]byte, error)) *Picture {
	return &Picture{Name: name, Alt: alt, draw: sync.OnceValues(func() (file []byte, err error) {
		defer func() {
			if p := recover(); p != nil {
				err = panicked(p)
			}
		}()
		return draw()
	})}
}

// again says how to ask for the answer that the picture belongs to.
func (p *Picture) again(path string, options map[string]string) *Picture {
	if p != nil {
		p.Again = &Action{Label: "Show the picture", Path: path, Options: options}
	}
	return p
}

// PNG is the picture as a file. Several may ask for it at the same time.
func (p *Picture) PNG() ([]byte, error) {
	file, err := p.draw()
	if err != nil {
		return nil, fmt.Errorf("drawing %s: %w", p.Name, err)
	}
	return file, nil
}

// MarshalJSON draws the picture.
func (p *Picture) MarshalJSON() ([]byte, error) {
	file, err := p.PNG()
	if err != nil {
		return nil, err
	}
	return json.Marshal(struct {
		Name string `json:"name"`
		Alt  string `json:"alt"`
		PNG  []byte `json:"png"`
	}{p.Name, p.Alt, file})
}
