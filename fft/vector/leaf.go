package vector

// Transform8 transforms 8 points by Split's scheme, into 4, 2 and 2. w8 are its factors.
// Bins are left where that leaves them. Mirrored, bin −j lies where bin j would.
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
