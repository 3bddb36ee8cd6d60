package main

import (
	"errors"
	"reflect"

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
