package discord

import (
	"encoding/json"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

// Whatever arrives, reading it ends, and what is taken on can be answered.
func FuzzReadingAnInteraction(f *testing.F) {
	for _, e := range []event{asked("sheet open", map[string]string{"name": "x"}), pressed("1-|boards|"), completing("weight", "species", 12.5, map[string]string{"size": "x"}),
		sentIn("1-|price|", map[string]string{"hours": "8"}, pressed("1-|boards|")), {}} {
		raw, err := json.Marshal(e)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	f.Add([]byte(`{"id":"1","type":5,"token":"t","application_id":"2","user":{"id":"3"},"data":{"custom_id":"1-|a|","components":[null,{"component":null},{"components":[{"value":7}]}]}}`))
	arrived := time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, raw []byte) {
		a, problem := read(raw, arrived)
		if problem != "" {
			return
		}
		require.NotEmpty(t, a.id)
		require.NotEmpty(t, a.token)
		require.NotEmpty(t, a.request.Member)
		require.NotEmpty(t, a.request.Community)
		if a.kind == command || a.kind == completion {
			require.NotNil(t, a.request.Options)
			for _, text := range a.request.Options {
				require.True(t, utf8.ValidString(text), "%q", text)
			}
		}
	})
}
