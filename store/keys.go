package store

import (
	"bytes"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// A purpose names one key of the key file. No two things are hashed with the
// same one, so that equal rows of two tables do not show it.
type purpose int

const (
	communities purpose = iota // names a community
	members                    // names a member beside consent, drafts and settings
	tags                       // names a maker beside pooled records
	numberings                 // names a member beside the count of sales
	subsamples                 // settles who counts in a cut
	receipts                   // names a delivery
	withdrawals                // makes and hashes withdrawal codes

	purposeCount
)

var purposeNames = [purposeCount]string{
	"communities", "members", "tags", "numberings", "subsamples", "receipts", "withdrawals",
}

const (
	keyBytes   = 32
	keysHeader = "tallystick keys 1"
)

// keys are the secrets that are never in the database.
type keys [purposeCount][keyBytes]byte

// newKeys draws a set of keys.
func newKeys() keys {
	var k keys
	for p := range k {
		// rand.Read fills the key or ends the program; it never fails.
		_, _ = rand.Read(k[p][:])
	}
	return k
}

// mac is the HMAC-SHA256 of the parts, each after its length in 8 bytes, so that
// no two lists of parts are the same bytes.
func (k *keys) mac(p purpose, parts ...string) []byte {
	h, _ := hashers[p].Get().(*hasher)
	if h == nil || h.key != k[p] {
		h = &hasher{key: k[p], Hash: hmac.New(sha256.New, k[p][:])}
	} else {
		h.Reset()
	}
	h.message = framed(h.message[:0], parts...)
	h.Write(h.message)
	sum := h.Sum(make([]byte, 0, sha256.Size))
	hashers[p].Put(h)
	return sum
}

// hashers are begun with the keys last used: half of the work is the beginning.
var hashers [purposeCount]sync.Pool

type hasher struct {
	hash.Hash
	key     [keyBytes]byte
	message []byte
}

// framed appends the parts, each after its length.
func framed(to []byte, parts ...string) []byte {
	for _, part := range parts {
		to = binary.BigEndian.AppendUint64(to, uint64(len(part)))
		to = append(to, part...)
	}
	return to
}

// fingerprint tells two sets of keys apart and gives neither away.
func (k *keys) fingerprint() []byte {
	sum := sha256.Sum256(k.text())
	return sum[:]
}

// text is the content of the key file: a header, then a line a key of its
// purpose and 64 hexadecimal digits.
func (k *keys) text() []byte {
	var b bytes.Buffer
	b.WriteString(keysHeader + "\n")
	for p, key := range k {
		fmt.Fprintf(&b, "%s %x\n", purposeNames[p], key)
	}
	return b.Bytes()
}

// parseKeys reads what text wrote, and nothing else.
func parseKeys(text []byte) (keys, bool) {
	var k keys
	lines := strings.Split(strings.ReplaceAll(strings.TrimSpace(string(text)), "\r\n", "\n"), "\n")
	if len(lines) != 1+len(k) || lines[0] != keysHeader {
		return keys{}, false
	}
	for p := range k {
		digits, named := strings.CutPrefix(lines[1+p], purposeNames[p]+" ")
		key, err := hex.DecodeString(digits)
		if !named || err != nil || len(key) != keyBytes {
			return keys{}, false
		}
		copy(k[p][:], key)
	}
	return k, true
}

// readKeys reads the key file and closes it to other users of the machine. The
// error is fs.ErrNotExist when there is none.
func readKeys(path string) (keys, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return keys{}, fmt.Errorf("reading key file: %w", err)
	}
	k, ok := parseKeys(text)
	if !ok {
		return keys{}, &OpenError{Refusal: KeysDamaged, KeysPath: path}
	}
	return k, closeToOthers(path)
}

// createKeys makes the key file whole or not at all, and never over another: of
// two programs that begin at once, both get the keys of the first.
func createKeys(path string) (keys, error) {
	if err := makeFolder(path); err != nil {
		return keys{}, err
	}
	// CreateTemp makes files that only their owner may read.
	temp, err := os.CreateTemp(filepath.Dir(path), ".keys-*")
	if err != nil {
		return keys{}, fmt.Errorf("making key file: %w", err)
	}
	defer os.Remove(temp.Name())
	k := newKeys()
	_, err = temp.Write(k.text())
	err = errors.Join(err, temp.Sync(), temp.Close())
	if err != nil {
		return keys{}, fmt.Errorf("writing key file: %w", err)
	}
	switch err := os.Link(temp.Name(), path); {
	case errors.Is(err, fs.ErrExist):
		return readKeys(path)
	case err != nil:
		return keys{}, fmt.Errorf("placing key file: %w", err)
	}
	return k, syncFolder(path)
}
