package store

import (
	"crypto/hmac"
	"crypto/sha256"
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

// sharerID names a member beside the count of their sales.
func (s *Store) sharerID(w Who) []byte { return s.keys.mac(numberings, w.Community, w.Member) }

// codeHash is what is kept of a withdrawal code.
func (s *Store) codeHash(community, code string) []byte {
	return s.keys.mac(withdrawals, "hash", community, plainCode(code))
}

// withdrawalCode is the code of the sale that a delivery shared. The delivery
// makes it again when it comes again, so the code itself need not be kept.
func (s *Store) withdrawalCode(w Who, delivery string) string {
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
