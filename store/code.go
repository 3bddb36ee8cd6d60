package store

import (
	"crypto/rand"
	"encoding/base32"
	"strings"
)

// crockford is Douglas Crockford's base 32: digits and letters without I, L, O
// and U, which are misread or misspell.
var crockford = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

const (
	draftCodeLength      = 6
	withdrawalCodeLength = 16 // 80 bits: not to be guessed
	withdrawalCodeBytes  = withdrawalCodeLength * 5 / 8
	withdrawalGroup      = 4
	// placeBytes is how much of a tag a withdrawal code tells: of a hundred thousand
	// makers two begin alike.
	placeBytes = 2
)

// newDraftCode draws a code.
func newDraftCode() string {
	var random [draftCodeLength]byte
	_, _ = rand.Read(random[:])
	return crockford.EncodeToString(random[:])[:draftCodeLength]
}

// withdrawalCode gives the first characters of a hash as a code in groups.
func withdrawalCode(mac []byte) string {
	text := crockford.EncodeToString(mac)[:withdrawalCodeLength]
	groups := make([]string, 0, withdrawalCodeLength/withdrawalGroup)
	for len(text) > 0 {
		groups = append(groups, text[:withdrawalGroup])
		text = text[withdrawalGroup:]
	}
	return strings.Join(groups, "-")
}

// codeBytes gives what a withdrawal code was made of, and false for what is none.
func codeBytes(typed string) ([]byte, bool) {
	plain := plainCode(typed)
	code, err := crockford.DecodeString(plain)
	return code, err == nil && len(plain) == withdrawalCodeLength
}

// plainCode gives a code as it was made, from how somebody typed it: small
// letters, spaces and hyphens do not count, and what is misread is put right.
func plainCode(typed string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '-' || r == ' ':
			return -1
		case r >= 'a' && r <= 'z':
			r -= 'a' - 'A'
		}
		switch r {
		case 'O':
			return '0'
		case 'I', 'L':
			return '1'
		}
		return r
	}, typed)
}
