package store

// makersMost is how many makers are remembered: a hundred bytes each.
const makersMost = 4096

// A maker is what is remembered of who shares, between their sales: that they are known,
// what they agreed to, and the number that their next sale gets. Who has the turn at
// writing alone looks at it and changes it, with what they write: what is taken back of a
// transaction takes all makers with it.
type maker struct{ next, wording int }

// makers are kept by their tag. Deleting a sale, or noting a consent, drops the maker.
type makers map[string]maker

func (m makers) drop(tag []byte) { delete(m, string(tag)) }

func (m makers) keep(tag []byte, one maker) {
	for other := range m {
		if len(m) < makersMost {
			break
		}
		delete(m, other)
	}
	m[string(tag)] = one
}
