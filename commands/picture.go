package commands

import (
	"encoding/json"
	"fmt"
	"sync"
)

// Picture is a chart or a diagram. Its words are put together and it is drawn when
// somebody asks for them and not before: the answer is ready in a fraction of the time.
type Picture struct {
	// Name is a file name such as "panel.png".
	Name string
	// Again asks for the answer once more, which has no effect. A transport may leave
	// the picture out until somebody wants to see it; nil where it must not.
	Again *Action

	once  sync.Once
	work  func() (alt string, draw painter)
	alt   string
	drawn func() ([]byte, error)
}

// painter draws a picture as a PNG file.
type painter func() ([]byte, error)

// NewPicture is a picture that says alt and that draw draws as a PNG file, at most
// once.
func NewPicture(name, alt string, draw func() ([]byte, error)) *Picture {
	return laterPicture(name, func() (string, painter) { return alt, draw })
}

// laterPicture is a picture whose words are put together by work too, at most once.
func laterPicture(name string, work func() (alt string, draw painter)) *Picture {
	return &Picture{Name: name, work: work}
}

func (p *Picture) ready() {
	p.once.Do(func() {
		draw := painter(nil)
		if err := caught(func() error { p.alt, draw = p.work(); return nil }); err != nil {
			draw = func() ([]byte, error) { return nil, err }
		}
		p.drawn = sync.OnceValues(func() (file []byte, err error) {
			err = caught(func() error { file, err = draw(); return err })
			return file, err
		})
	})
}

// caught has a panic of f become an error.
func caught(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = panicked(p)
		}
	}()
	return f()
}

// Alt says what the picture shows, for who cannot see it: at most 1,024 characters.
func (p *Picture) Alt() string {
	p.ready()
	return p.alt
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
	p.ready()
	file, err := p.drawn()
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
	}{p.Name, p.alt, file})
}
