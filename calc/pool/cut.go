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

// A family is a set of cuts inside Everything that do not overlap. It gives the
// cut of the family that a record falls in, or "" for none.
type family func(fact) Cut

var families = []family{
	func(f fact) Cut {
		if f.category == "" {
			return ""
		}
		return CategoryCut(f.category)
	},
	func(f fact) Cut {
		if f.region == "" {
			return ""
		}
		return RegionCut(f.region)
	},
}
