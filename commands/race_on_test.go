//go:build race

package commands_test

// raced is true where the race detector makes the database some twenty times slower;
// long tests then do less of the same.
const raced = true
