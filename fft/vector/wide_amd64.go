//go:build amd64 && !plain

package vector

import "golang.org/x/sys/cpu"

// wide says that the processor and its system have AVX2, and fused multiplication.
var wide = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// The loops themselves. n counts elements: a multiple of 2 for splitWide, of 4
// for splitWindowedWide, addPowersWide, addSquaresWide and lookWide,
// of 16 for foldWide, and more than zero.

//go:noescape
func splitWide(a, b, c, d, up, down, w *complex128, n int)

//go:noescape
func splitWindowedWide(q *quarters)

//go:noescape
func addPowersWide(A, B *float64, p, q *complex128, n int)

//go:noescape
func addSquaresWide(sum *float64, z *complex128, n int)

//go:noescape
func foldWide(out, middle *float64, weight float64, left, right, taps *float64, step, pairs, n int)

//go:noescape
func transform16Wide(x, w16, w8 *complex128, mirrored bool)

//go:noescape
func transform8Wide(x, w8 *complex128, mirrored bool)

// lookWide takes in n samples; two lie before them.
//
//go:noescape
func lookWide(l *lanes, x *float64, n int)
