//go:build !amd64 || purego

package vector

const wide = false

func splitWide(a, b, c, d, up, down, w *complex128, n int) { panic("vector: no such instructions") }
func packWide(dst *complex128, a, b, w *float64, n int)    { panic("vector: no such instructions") }
func addPowersWide(A, B *float64, p, q *complex128, n int) { panic("vector: no such instructions") }
func addSquaresWide(sum *float64, z *complex128, n int)    { panic("vector: no such instructions") }
func foldWide(out, left, right, taps *float64, step, pairs, n int) {
	panic("vector: no such instructions")
}
