package vector

// The last passes of a transform, each by Split's scheme: 16 points split into
// 8, 4 and 4, and 8 into 4, 2 and 2. Bins are left where that leaves them; the
// last quarter's in the mirror image of the third's.

// Transform16 transforms the 16 points of x. w16 and w8 are Split's factors for
// 16 and 8 points. Mirrored, bin −j lies where bin j would.
func Transform16(x, w16, w8 []complex128, mirrored bool) {
	x, w16, w8 = x[:16], w16[:4], w8[:2]
	if wide {
		transform16Wide(&x[0], &w16[0], &w8[0], mirrored)
		return
	}
	Split(x[:4], x[4:8], x[8:12], x[12:], mirrored, w16)
	Transform8(x[:8], w8, mirrored)
	Transform4(x[8:12], mirrored)
	Transform4(x[12:], !mirrored)
}

// Transform8 transforms 8 points likewise.
func Transform8(x, w8 []complex128, mirrored bool) {
	x, w8 = x[:8], w8[:2]
	if wide {
		transform8Wide(&x[0], &w8[0], mirrored)
		return
	}
	Split(x[:2], x[2:4], x[4:6], x[6:], mirrored, w8)
	Transform4(x[:4], mirrored)
	x[4], x[5] = x[4]+x[5], x[4]-x[5]
	x[6], x[7] = x[6]+x[7], x[6]-x[7]
}

// Transform4 transforms 4 points: it leaves bins 0, 2, 1, −1, or mirrored 0, 2,
// −1, 1.
func Transform4(x []complex128, mirrored bool) {
	x = x[:4]
	even, odd := x[0]+x[2], x[1]+x[3]
	e, g := x[0]-x[2], x[1]-x[3]
	f := complex(imag(g), -real(g)) // −i·g
	if mirrored {
		f = -f
	}
	x[0], x[1], x[2], x[3] = even+odd, even-odd, e+f, e-f
}
