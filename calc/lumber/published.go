package lumber

import (
	"encoding/csv"
	"fmt"
	"strings"

	"tallystick/calc/measure"
)

// publishedRows reads an embedded table, one map a row by the names in its heading.
// Lines with # hold the sources. The tables are part of the program, so one that
// cannot be read is a panic, which every test of the package would meet.
func publishedRows(table string) []map[string]string {
	reader := csv.NewReader(strings.NewReader(table))
	reader.Comment = '#'
	records, err := reader.ReadAll()
	if err != nil {
		panic(fmt.Errorf("embedded table: %w", err))
	}
	rows := make([]map[string]string, 0, len(records))
	for _, record := range records[1:] {
		row := map[string]string{}
		for k, column := range records[0] {
			row[column] = record[k]
		}
		rows = append(rows, row)
	}
	return rows
}

// inches reads a cell of an embedded table.
func inches(cell string) measure.Length {
	l, err := measure.ParseLength(cell, measure.Inch)
	if err != nil {
		panic(fmt.Errorf("embedded table: %w", err))
	}
	return l
}
