//go:build !amd64 || plain

package vector

const wide = false

const none = "vector: this processor has no such instructions"

func splitWide(a, b, c, d, up, down, w *complex128, n int)  { panic(none) }
func splitWindowedWide(q *quarters)                         { panic(none) }
func addPowersWide(A, B *float64, p, q *complex128, n int)  { panic(none) }
func addSquaresWide(sum *float64, z *complex128, n int)     { panic(none) }
func transform16Wide(x, w16, w8 *complex128, mirrored bool) { panic(none) }
func transform8Wide(x, w8 *complex128, mirrored bool)       { panic(none) }
func foldWide(out, middle *float64, weight float64, left, right, taps *float64, step, pairs, n int) {
	panic(none)
}
func lookWide(l *lanes, x *float64, n int) { panic(none) }
