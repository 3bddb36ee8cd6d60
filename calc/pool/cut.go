package pool

import "strings"

// A Cut is one listed part of the shared log: everything, one category, or one
// region. There are no crossings.
type Cut string

// Everything is the cut of all records. The other cuts are inside it.
const Everything Cut = "all"

const (
	categoryPrefix = "category:"
	regionPrefix   = "region:"
)

// CategoryCut gives the cut of a category.
func CategoryCut(category string) Cut { return categoryPrefix + Cut(category) }

// RegionCut gives the cut of a region.
func RegionCut(region string) Cut { return regionPrefix + Cut(region) }

// Category gives the category of a category's cut, and false for another cut.
func (c Cut) Category() (string, bool) { return strings.CutPrefix(string(c), categoryPrefix) }

// Region gives the region of a region's cut, and false for another cut.
func (c Cut) Region() (string, bool) { return strings.CutPrefix(string(c), regionPrefix) }

// families are the sets of cuts inside Everything that do not overlap: the
// categories, and the regions. A record falls in one cut of each, or in "" for
// none.
const families = 2
