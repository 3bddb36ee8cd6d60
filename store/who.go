package store

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/binary"
)

// Who is a member of a community, by the ids the transport knows them by. They
// are hashed on the way in and never stored.
type Who struct{ Community, Member string }

// communityID names a community in every table.
func (s *Store) communityID(community string) []byte { return s.keys.mac(communities, community) }

// memberID names a member beside consent, drafts and settings.
func (s *Store) memberID(w Who) []byte { return s.keys.mac(members, w.Community, w.Member) }

// tag names a maker beside pooled records.
func (s *Store) tag(w Who) []byte { return s.keys.mac(tags, w.Community, w.Member) }

// seedTag names an invented maker. It has one part more than a member's tag, so
// no member can have the same.
func (s *Store) seedTag(community, maker string) []byte {
	return s.keys.mac(tags, "seed", community, maker)
}

// shopID names a shop by its members' word. It has one part more than a member's
// tag, so no member can have the same.
func (s *Store) shopID(community, word string) []byte {
	return s.keys.mac(tags, "shop", community, word)
}

// sharerID names a member beside the count of their sales, as it was kept before
// migration 7.
func (s *Store) sharerID(w Who) []byte { return s.keys.mac(numberings, w.Community, w.Member) }

// floorID names a maker beside the number that their next sale has at least. It is made
// of the tag alone, so that who withdraws by a code can tell it too, and has one part
// fewer than sharerID, so that no member can have the same.
func (s *Store) floorID(tag []byte) []byte { return s.keys.mac(numberings, string(tag)) }

// codeHash is what is kept of a withdrawal code.
func (s *Store) codeHash(community, code string) []byte {
	return s.keys.mac(withdrawals, "hash", community, plainCode(code))
}

// saleCode is the withdrawal code of the sale that a draft became. Who has the draft's
// code again can make it again, so it need not be kept. Its first bytes are those of the
// tag, hidden by the others, so that the sale is found without a list of codes.
func (s *Store) saleCode(w Who, tag []byte, draft string) string {
	secret := s.keys.mac(withdrawals, "draft", w.Community, w.Member, draft)[:withdrawalCodeBytes]
	s.hidePlace(w.Community, secret, tag)
	return withdrawalCode(secret)
}

// hidePlace writes the beginning of a tag over that of a code, or over itself again. To
// who has not the key it looks drawn.
func (s *Store) hidePlace(community string, code, tag []byte) {
	subtle.XORBytes(code[:placeBytes], tag[:placeBytes], s.keys.mac(withdrawals, "place", community, string(code[placeBytes:])))
}

// placeOf gives how the tag begins on which the sale of a code hangs.
func (s *Store) placeOf(community string, code []byte) []byte {
	place := bytes.Clone(code)
	s.hidePlace(community, place, code)
	return place[:placeBytes]
}

// oldSaleCode is the withdrawal code of a sale of before migration 7: the delivery made
// it.
func (s *Store) oldSaleCode(w Who, delivery string) string {
	return withdrawalCode(s.keys.mac(withdrawals, "code", w.Community, w.Member, delivery))
}

// subsample gives the secret bits that settle whether a maker counts in a cut.
func (s *Store) subsample(cut, maker string) uint32 { return s.subsampler()(cut, maker) }

// subsampler gives subsample for many calls, one after another.
func (s *Store) subsampler() func(cut, maker string) uint32 {
	h := hmac.New(sha256.New, s.keys[subsamples][:])
	var message, sum []byte
	return func(cut, maker string) uint32 {
		message = framed(message[:0], cut, maker)
		h.Reset()
		h.Write(message)
		sum = h.Sum(sum[:0])
		return binary.BigEndian.Uint32(sum)
	}
}
