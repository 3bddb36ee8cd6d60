package main

import (
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/caarlos0/env/v11"

	"tallystick/calc/measure"
)

// parseSettings fills in the settings. One that cannot be read is told, and takes its
// default, so that nothing more is said of a value nobody typed.
func parseSettings(known map[string]string, problems *settingsError) (s settings) {
	err := env.ParseWithOptions(&s, env.Options{Environment: known})
	several, _ := errors.AsType[env.AggregateError](err)
	for _, one := range several.Errors {
		misread, ok := errors.AsType[env.ParseError](one)
		field, found := reflect.TypeFor[settings]().FieldByName(misread.Name)
		if !ok || !found {
			problems.add("the settings cannot be read: %v", one)
			continue
		}
		name, problem := field.Tag.Get("env"), "is not a whole number that I can take"
		if field.Type.Kind() == reflect.Int64 { // a time.Duration
			problem = "is not a length of time"
		}
		problems.add("%s: %q %s. Try %s", name, measure.Quote(known[name]), problem, field.Tag.Get("envDefault"))
		delete(known, name)
	}
	if err != nil {
		_ = env.ParseWithOptions(&s, env.Options{Environment: known})
	}
	return s
}

// settingPrefix is that of every setting's name.
const settingPrefix = "TALLYSTICK_"

// unknownSettings gives a sentence for each name that looks like a setting and is
// none. They are no reason to refuse: one may be a later version's, or somebody
// else's.
func unknownSettings(known map[string]string) (sentences []string) {
	var names []string
	for field := range reflect.TypeFor[settings]().Fields() {
		if name := field.Tag.Get("env"); name != "" {
			names = append(names, name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(known)) {
		if !strings.HasPrefix(name, settingPrefix) || slices.Contains(names, name) {
			continue
		}
		sentences = append(sentences, fmt.Sprintf("%s is no setting of mine, and is left out. Try %s", measure.Quote(name), closestSetting(name, names)))
	}
	return sentences
}

// closestSetting is the name that is meant, so far as one can tell: a third of its
// letters may be slips of the finger, or its first words left out.
func closestSetting(name string, names []string) string {
	rest := strings.TrimPrefix(name, settingPrefix)
	near, least := "one of .env.example", (len(rest)+1)/3+1
	for _, candidate := range names {
		d := measure.EditDistance(name, candidate)
		if strings.HasSuffix(candidate, "_"+rest) {
			d = min(d, 1)
		}
		if d < least {
			near, least = candidate, d
		}
	}
	return near
}
