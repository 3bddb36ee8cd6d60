package price

import (
	"maps"
	"slices"
)

// Clone gives the sheet as it stands, whatever the fold that it is of goes on with.
func (s Sheet) Clone() Sheet {
	s.Facts, s.Costs = maps.Clone(s.Facts), maps.Clone(s.Costs)
	s.Work, s.Running, s.Doubtful = slices.Clone(s.Work), slices.Clone(s.Running), slices.Clone(s.Doubtful)
	s.Posts, s.Offers, s.offered = slices.Clone(s.Posts), slices.Clone(s.Offers), slices.Clone(s.offered)
	if s.Sale != nil {
		sale := *s.Sale
		s.Sale = &sale
	}
	return s
}
