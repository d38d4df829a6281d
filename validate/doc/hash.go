package doc

import (
	"encoding/binary"
	"math/bits"
)

// Hash is a fast ten-bit hash of a member name. It does not resist chosen
// names: use it only in tables whose names are fixed, and compare the name as
// well.
func Hash(name []byte) uint32 {
	const m1, m2 = 0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F
	n := len(name)
	var lo, hi uint64
	switch {
	case n > 8:
		for rest := name; len(rest) > 16; rest = rest[8:] {
			hi = (hi ^ binary.LittleEndian.Uint64(rest)) * m2
		}
		lo = binary.LittleEndian.Uint64(name)
		hi ^= binary.LittleEndian.Uint64(name[n-8:])
	case n >= 4:
		lo = uint64(binary.LittleEndian.Uint32(name))
		hi = uint64(binary.LittleEndian.Uint32(name[n-4:]))
	case n > 0:
		lo = uint64(name[0]) | uint64(name[n/2])<<8 | uint64(name[n-1])<<16
	}
	h := (lo ^ uint64(n)) * m1
	h ^= bits.RotateLeft64(hi, 29) * m2
	return (uint32(h>>32) ^ uint32(h>>13)) & hashMask
}
