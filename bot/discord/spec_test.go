package discord

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The outside judge of every body is the platform's published description of its
// API (OpenAPI 3.1, "Discord HTTP API (Preview)", version 10, MIT licence), when a
// copy of it lies beside the repository.
const specFile = "../../../shared/reference/platform-openapi.json"

const (
	commandsSchema = "#/paths/~1applications~1%7Bapplication_id%7D~1commands/put/requestBody/content/application~1json/schema"
	editSchema     = "#/components/schemas/IncomingWebhookUpdateRequestPartial"
	followSchema   = "#/components/schemas/IncomingWebhookRequestPartial"
)

func callbackSchema(t *testing.T, kind any) string {
	switch kind {
	case 4.0, 5.0:
		return "#/components/schemas/CreateMessageInteractionCallbackRequest"
	case 8.0:
		return "#/components/schemas/ApplicationCommandAutocompleteCallbackRequest"
	}
	assert.Fail(t, "a callback of a type that is not used here", "%v", kind)
	return "#/components/schemas/PongInteractionCallbackRequest"
}

var spec = sync.OnceValues(func() (*jsonschema.Compiler, error) {
	raw, err := os.ReadFile(specFile)
	if err != nil {
		return nil, err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	compiler := jsonschema.NewCompiler()
	compiler.DefaultDraft(jsonschema.Draft2020)
	return compiler, compiler.AddResource("mem:///platform.json", doc)
})

var compiling sync.Mutex

// checkBody holds a body against the published description; without a copy of it
// there is nothing to hold it against.
func checkBody(t *testing.T, pointer string, body []byte) {
	compiler, err := spec()
	if os.IsNotExist(err) {
		return
	}
	if !assert.NoError(t, err) {
		return
	}
	compiling.Lock()
	schema, err := compiler.Compile("mem:///platform.json" + pointer)
	compiling.Unlock()
	if !assert.NoError(t, err) {
		return
	}
	instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if assert.NoError(t, err) {
		assert.NoError(t, schema.Validate(instance), "the platform's description does not allow %s", body)
	}
}

func TestThePublishedDescriptionIsAtHandAndRefusesWhatIsWrong(t *testing.T) {
	t.Parallel()
	compiler, err := spec()
	if os.IsNotExist(err) {
		t.Skip("the platform's published API description does not lie beside the repository: bodies are held against the documented limits only")
	}
	require.NoError(t, err)
	for pointer, wrong := range map[string]string{
		commandsSchema:         `[{"name":"","description":"x"}]`,
		editSchema:             fmt.Sprintf(`{"content":%q}`, string(bytes.Repeat([]byte("a"), 2001))),
		followSchema:           `{"embeds":[{"title":7}]}`,
		callbackSchema(t, 4.0): `{"type":4,"data":{"flags":"many"}}`,
		callbackSchema(t, 8.0): `{"type":8,"data":{"choices":[{"name":"","value":"x"}]}}`,
	} {
		compiling.Lock()
		schema, err := compiler.Compile("mem:///platform.json" + pointer)
		compiling.Unlock()
		require.NoError(t, err)
		instance, err := jsonschema.UnmarshalJSON(bytes.NewReader([]byte(wrong)))
		require.NoError(t, err)
		assert.Error(t, schema.Validate(instance), "%s against %s", wrong, pointer)
	}
}

// checkLimits holds the documented limits that the description does not state.
// https://discord.com/developers/docs/resources/message
// https://discord.com/developers/docs/components/reference
func checkLimits(t *testing.T, body map[string]any) {
	content, _ := body["content"].(string)
	assert.LessOrEqual(t, units(content), 2000)
	sum := 0
	var shown []string
	embeds, _ := body["embeds"].([]any)
	for _, e := range embeds {
		embed := e.(map[string]any)
		title, _ := embed["title"].(string)
		description, _ := embed["description"].(string)
		assert.LessOrEqual(t, units(title), 256)
		assert.LessOrEqual(t, units(description), 4096)
		assert.NotEmpty(t, title+description)
		shown = append(shown, title, description)
		sum += units(title) + units(description)
		assert.NotContains(t, embed, "color")
	}
	assert.LessOrEqual(t, sum, 6000)
	rows, _ := body["components"].([]any)
	assert.LessOrEqual(t, len(rows), 5)
	ids := map[string]bool{}
	for _, row := range rows {
		buttons := row.(map[string]any)["components"].([]any)
		assert.NotEmpty(t, buttons)
		assert.LessOrEqual(t, len(buttons), 5)
		for _, b := range buttons {
			button := b.(map[string]any)
			id := button["custom_id"].(string)
			assert.False(t, ids[id], "%q occurs twice in a message", id)
			ids[id] = true
			assert.LessOrEqual(t, units(id), 100)
			assert.LessOrEqual(t, units(button["label"].(string)), 80)
		}
	}
	for _, text := range append(shown, content) {
		for _, ping := range []string{"@everyone", "@here", "<@", "<#"} {
			assert.NotContains(t, strings.ReplaceAll(outsideCode(text), `\<`, ""), ping)
		}
	}
}
