//go:build !race

package commands_test

const raced = false
