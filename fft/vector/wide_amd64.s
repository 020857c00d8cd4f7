//go:build amd64 && !plain

#include "textflag.h"

// Each loop does, lane by lane, what the plain Go beside its name in vector.go
// does, in the same order. A complex number is two lanes: real part, imaginary.

// The sign bits of all lanes.
DATA signs<>+0x00(SB)/8, $0x8000000000000000
DATA signs<>+0x08(SB)/8, $0x8000000000000000
DATA signs<>+0x10(SB)/8, $0x8000000000000000
DATA signs<>+0x18(SB)/8, $0x8000000000000000
GLOBL signs<>(SB), RODATA|NOPTR, $32

DATA quarter<>+0x00(SB)/8, $0.25
GLOBL quarter<>(SB), RODATA|NOPTR, $8

// MULTIPLY makes Z times WR + i·WI.
#define MULTIPLY(Z, WR, WI, T) \
	VPERMILPD $0x5, Z, T         \
	VMULPD  WI, T, T             \
	VFMADDSUB213PD T, WR, Z

// BUTTERFLY makes even, odd, up, down, as split has them, of A, B, C, D and the factors W.
// It uses Y0 and Y12 to Y15.
#define BUTTERFLY(A, B, C, D, W) \
	VADDPD  C, A, Y12            \ // a+c
	VADDPD  D, B, Y13            \ // b+d
	VSUBPD  C, A, Y14            \ // e = a−c
	VSUBPD  D, B, Y15            \ // f = b−d
	VMOVAPD Y12, A               \
	VMOVAPD Y13, B               \
	VPERMILPD $0x5, Y15, Y15     \ // (im f, re f)
	VADDSUBPD Y15, Y14, D        \ // v = (re e − im f, im e + re f)
	VXORPD  signs<>(SB), Y15, Y15 \
	VADDSUBPD Y15, Y14, C        \ // u = (re e + im f, im e − re f)
	VMOVDDUP W, Y12              \ // re w
	VPERMILPD $0xf, W, Y13       \ // im w
	MULTIPLY(C, Y12, Y13, Y0)    \
	VXORPD  signs<>(SB), Y13, Y13 \
	MULTIPLY(D, Y12, Y13, Y0)

// WINDOWED makes numbers 0 2 and 1 3 of a quarter of X and Y, windowed by W.
#define WINDOWED(X, Y, W, EVEN, ODD) \
	VMULPD (X)(AX*1), W, Y14    \
	VMULPD (Y)(AX*1), W, Y15    \
	VUNPCKLPD Y15, Y14, EVEN    \
	VUNPCKHPD Y15, Y14, ODD

// STORE stores them in order, where the address at PLACE says.
#define STORE(EVEN, ODD, PLACE) \
	MOVQ PLACE, R15             \
	VPERM2F128 $0x20, ODD, EVEN, Y0 \
	VPERM2F128 $0x31, ODD, EVEN, Y1 \
	VMOVUPD Y0, (R15)(AX*2)     \
	VMOVUPD Y1, 32(R15)(AX*2)

// func splitWide(a, b, c, d, up, down, w *complex128, n int)
TEXT ·splitWide(SB), NOSPLIT, $0-64
	MOVQ a+0(FP), R8
	MOVQ b+8(FP), R9
	MOVQ c+16(FP), R10
	MOVQ d+24(FP), R11
	MOVQ up+32(FP), R12
	MOVQ down+40(FP), R13
	MOVQ w+48(FP), SI
	MOVQ n+56(FP), CX
	XORQ AX, AX
	SHLQ $4, CX

splitLoop:
	VMOVUPD (R8)(AX*1), Y2
	VMOVUPD (R9)(AX*1), Y3
	VMOVUPD (R10)(AX*1), Y4
	VMOVUPD (R11)(AX*1), Y5
	VMOVUPD (SI)(AX*1), Y10
	BUTTERFLY(Y2, Y3, Y4, Y5, Y10)
	VMOVUPD Y2, (R8)(AX*1)
	VMOVUPD Y3, (R9)(AX*1)
	VMOVUPD Y4, (R12)(AX*1)
	VMOVUPD Y5, (R13)(AX*1)
	ADDQ $32, AX
	CMPQ AX, CX
	JLT  splitLoop
	VZEROUPPER
	RET

// func splitWindowedWide(q *quarters)
TEXT ·splitWindowedWide(SB), NOSPLIT, $0-8
	MOVQ q+0(FP), BX
	MOVQ 32(BX), R8             // x
	MOVQ 40(BX), R9
	MOVQ 48(BX), R10
	MOVQ 56(BX), R11
	MOVQ 64(BX), R12            // y
	MOVQ 72(BX), R13
	MOVQ 80(BX), R14
	MOVQ 88(BX), DX
	MOVQ 96(BX), SI             // w
	MOVQ 104(BX), DI            // c
	MOVQ 112(BX), CX
	XORQ AX, AX
	SHLQ $3, CX

windowedLoop:
	VMOVUPD (SI)(AX*2), Y0
	VMOVUPD 32(SI)(AX*2), Y1
	VUNPCKLPD Y1, Y0, Y2
	VUNPCKHPD Y1, Y0, Y3
	VPERMPD $0xd8, Y2, Y2       // c1
	VPERMPD $0xd8, Y3, Y3       // s1
	VMULPD  Y2, Y2, Y4
	VMULPD  Y3, Y3, Y5
	VSUBPD  Y5, Y4, Y4          // c2
	VMULPD  Y3, Y2, Y5
	VADDPD  Y5, Y5, Y5          // s2
	VMULPD  Y4, Y2, Y6
	VMULPD  Y5, Y3, Y7
	VSUBPD  Y7, Y6, Y6          // c3
	VMULPD  Y4, Y3, Y7
	VMULPD  Y5, Y2, Y8
	VADDPD  Y8, Y7, Y7          // s3
	VMULPD  Y4, Y4, Y8
	VMULPD  Y5, Y5, Y9
	VSUBPD  Y9, Y8, Y8          // c4
	VBROADCASTSD 8(DI), Y10
	VBROADCASTSD 24(DI), Y11
	VMULPD  Y10, Y2, Y2
	VMULPD  Y11, Y6, Y6
	VADDPD  Y6, Y2, Y2          // even
	VMULPD  Y10, Y3, Y3
	VMULPD  Y11, Y7, Y7
	VSUBPD  Y7, Y3, Y3          // odd
	VBROADCASTSD (DI), Y10
	VBROADCASTSD 32(DI), Y11
	VBROADCASTSD 16(DI), Y12
	VMULPD  Y11, Y8, Y8
	VADDPD  Y10, Y8, Y8         // same
	VMULPD  Y12, Y4, Y4         // turned
	VADDPD  Y4, Y8, Y5
	VSUBPD  Y4, Y8, Y4
	VSUBPD  Y2, Y5, Y10         // the window of each quarter
	VSUBPD  Y3, Y4, Y11
	VADDPD  Y2, Y5, Y12
	VADDPD  Y3, Y4, Y13
	WINDOWED(R8, R12, Y10, Y2, Y6)
	WINDOWED(R9, R13, Y11, Y3, Y7)
	WINDOWED(R10, R14, Y12, Y4, Y8)
	WINDOWED(R11, DX, Y13, Y5, Y9)
	VPERM2F128 $0x20, Y1, Y0, Y10 // factors 0 2
	VPERM2F128 $0x31, Y1, Y0, Y11 // factors 1 3
	BUTTERFLY(Y2, Y3, Y4, Y5, Y10)
	BUTTERFLY(Y6, Y7, Y8, Y9, Y11)
	STORE(Y2, Y6, (BX))
	STORE(Y3, Y7, 8(BX))
	STORE(Y4, Y8, 16(BX))
	STORE(Y5, Y9, 24(BX))
	ADDQ $32, AX
	CMPQ AX, CX
	JLT  windowedLoop
	VZEROUPPER
	RET

// func addPowersWide(A, B *float64, p, q *complex128, n int)
TEXT ·addPowersWide(SB), NOSPLIT, $0-40
	MOVQ A+0(FP), DI
	MOVQ B+8(FP), SI
	MOVQ p+16(FP), R8
	MOVQ q+24(FP), R9
	MOVQ n+32(FP), CX
	VBROADCASTSD quarter<>(SB), Y15

powersLoop:
	VMOVUPD (R8), Y0
	VMOVUPD 32(R8), Y1
	VMOVUPD (R9), Y2
	VMOVUPD 32(R9), Y3
	VADDPD  Y2, Y0, Y4          // t
	VADDPD  Y3, Y1, Y5
	VSUBPD  Y2, Y0, Y6          // r
	VSUBPD  Y3, Y1, Y7
	VBLENDPD $0xa, Y6, Y4, Y8   // (re t, im r)
	VBLENDPD $0xa, Y7, Y5, Y9
	VBLENDPD $0xa, Y4, Y6, Y10  // (re r, im t)
	VBLENDPD $0xa, Y5, Y7, Y11
	VMULPD  Y8, Y8, Y8
	VMULPD  Y9, Y9, Y9
	VMULPD  Y10, Y10, Y10
	VMULPD  Y11, Y11, Y11
	VHADDPD Y9, Y8, Y8          // of numbers 0 2 1 3
	VHADDPD Y11, Y10, Y10
	VPERMPD $0xd8, Y8, Y8
	VPERMPD $0xd8, Y10, Y10
	VMULPD  Y15, Y8, Y8
	VMULPD  Y15, Y10, Y10
	VADDPD  (DI), Y8, Y8
	VMOVUPD Y8, (DI)
	VADDPD  (SI), Y10, Y10      // after A is stored: it may be A
	VMOVUPD Y10, (SI)
	ADDQ $64, R8
	ADDQ $64, R9
	ADDQ $32, DI
	ADDQ $32, SI
	SUBQ $4, CX
	JGT  powersLoop
	VZEROUPPER
	RET

// func addSquaresWide(sum *float64, z *complex128, n int)
TEXT ·addSquaresWide(SB), NOSPLIT, $0-24
	MOVQ sum+0(FP), DI
	MOVQ z+8(FP), R8
	MOVQ n+16(FP), CX

squaresLoop:
	VMOVUPD (R8), Y0
	VMOVUPD 32(R8), Y1
	VMULPD  Y0, Y0, Y0
	VMULPD  Y1, Y1, Y1
	VHADDPD Y1, Y0, Y0          // of numbers 0 2 1 3
	VPERMPD $0xd8, Y0, Y0
	VADDPD  (DI), Y0, Y0
	VMOVUPD Y0, (DI)
	ADDQ $64, R8
	ADDQ $32, DI
	SUBQ $4, CX
	JGT  squaresLoop
	VZEROUPPER
	RET

// TAP adds a pair of 16 samples times a factor.
#define TAP(FACTOR) \
	VBROADCASTSD FACTOR, Y12    \
	VMOVUPD (R10), Y4           \
	VMOVUPD 32(R10), Y5         \
	VMOVUPD 64(R10), Y6         \
	VMOVUPD 96(R10), Y7         \
	VADDPD  (R11), Y4, Y4       \
	VADDPD  32(R11), Y5, Y5     \
	VADDPD  64(R11), Y6, Y6     \
	VADDPD  96(R11), Y7, Y7     \
	SUBQ DX, R10                \
	ADDQ DX, R11                \
	VFMADD231PD Y12, Y4, Y0     \
	VFMADD231PD Y12, Y5, Y1     \
	VFMADD231PD Y12, Y6, Y2     \
	VFMADD231PD Y12, Y7, Y3

// func foldWide(out, middle *float64, weight float64, left, right, taps *float64, step, pairs, n int)
TEXT ·foldWide(SB), NOSPLIT, $0-72
	MOVQ out+0(FP), DI
	MOVQ middle+8(FP), AX
	VBROADCASTSD weight+16(FP), Y14
	MOVQ left+24(FP), R8
	MOVQ right+32(FP), R9
	MOVQ taps+40(FP), SI
	MOVQ step+48(FP), DX
	MOVQ pairs+56(FP), BX
	MOVQ n+64(FP), CX
	SHLQ $3, DX

foldLoop:
	VMULPD (AX), Y14, Y0
	VMULPD 32(AX), Y14, Y1
	VMULPD 64(AX), Y14, Y2
	VMULPD 96(AX), Y14, Y3
	MOVQ R8, R10
	MOVQ R9, R11
	MOVQ SI, R12
	MOVQ BX, R13

foldTaps:
	TAP((R12))                  // inner
	TAP(8(R12))                 // outer
	ADDQ $16, R12
	SUBQ $2, R13
	JGT  foldTaps

	VMOVUPD Y0, (DI)
	VMOVUPD Y1, 32(DI)
	VMOVUPD Y2, 64(DI)
	VMOVUPD Y3, 96(DI)
	ADDQ $128, DI
	ADDQ $128, AX
	ADDQ $128, R8
	ADDQ $128, R9
	SUBQ $16, CX
	JGT  foldLoop
	VZEROUPPER
	RET

// The transforms of 16 and 8 points hold all points in registers, two to each.
// A mirror image differs by signs alone: Y14 are the sign bits that turn b−d for
// the third quarter, Y15 those for the last; the factors' imaginary parts take
// them the other way round. Y8 to Y11 are free.

// Signs of the second number.
DATA second<>+0x00(SB)/8, $0
DATA second<>+0x08(SB)/8, $0
DATA second<>+0x10(SB)/8, $0x8000000000000000
DATA second<>+0x18(SB)/8, $0x8000000000000000
GLOBL second<>(SB), RODATA|NOPTR, $32

// Signs that make (im g, re g) twice −i·g and i·g.
DATA turned<>+0x00(SB)/8, $0
DATA turned<>+0x08(SB)/8, $0x8000000000000000
DATA turned<>+0x10(SB)/8, $0x8000000000000000
DATA turned<>+0x18(SB)/8, $0
GLOBL turned<>(SB), RODATA|NOPTR, $32

// Split of quarters A, B, C, D with two factors at W.
#define SPLIT(A, B, C, D, W) \
	VSUBPD C, A, Y8; \
	VSUBPD D, B, Y9; \
	VADDPD C, A, A; \
	VADDPD D, B, B; \
	VPERMILPD $0x5, Y9, Y9; \
	VXORPD Y14, Y9, Y10; \
	VXORPD Y15, Y9, Y11; \
	VADDSUBPD Y10, Y8, C; \
	VADDSUBPD Y11, Y8, D; \
	VMOVUPD W, Y8; \
	VMOVDDUP Y8, Y9; \
	VPERMILPD $0xf, Y8, Y8; \
	VXORPD Y15, Y8, Y10; \
	MULTIPLY(C, Y9, Y10, Y11) \
	VXORPD Y14, Y8, Y10; \
	MULTIPLY(D, Y9, Y10, Y11)

// A = (p, q) becomes (p+q, p−q).
#define TWO(A) \
	VPERM2F128 $0x11, A, A, Y8; \
	VPERM2F128 $0x00, A, A, Y9; \
	VXORPD Y13, Y8, Y8; \
	VADDPD Y8, Y9, A

// Transform4 of the points in A and B; Y12 are the signs of ∓i.
#define FOUR(A, B) \
	VSUBPD B, A, Y8; \
	VADDPD B, A, A; \
	VPERM2F128 $0x11, Y8, Y8, Y9; \
	VPERM2F128 $0x00, Y8, Y8, Y10; \
	VPERMILPD $0x5, Y9, Y9; \
	VXORPD Y12, Y9, Y9; \
	VADDPD Y9, Y10, B; \
	TWO(A)

// Transform8 of the points in Y0 to Y3, to DI.
#define EIGHT \
	SPLIT(Y0, Y1, Y2, Y3, (DX)) \
	FOUR(Y0, Y1); \
	TWO(Y2); \
	TWO(Y3); \
	VMOVUPD Y0, (DI); \
	VMOVUPD Y1, 32(DI); \
	VMOVUPD Y2, 64(DI); \
	VMOVUPD Y3, 96(DI)

// The signs in Y12 to Y15, mirrored where AX isn't 0.
#define SIGNS \
	VMOVUPD second<>(SB), Y13; \
	VMOVUPD turned<>(SB), Y12; \
	VMOVUPD signs<>(SB), Y14; \
	VXORPD Y15, Y15, Y15; \
	TESTQ AX, AX; \
	JEQ straight; \
	VXORPD Y14, Y12, Y12; \
	VMOVAPD Y14, Y15; \
	VXORPD Y14, Y14, Y14; \
straight:

// func transform16Wide(x, w16, w8 *complex128, mirrored bool)
TEXT ·transform16Wide(SB), NOSPLIT, $0-25
	MOVQ x+0(FP), DI
	MOVQ w16+8(FP), SI
	MOVQ w8+16(FP), DX
	MOVBQZX mirrored+24(FP), AX
	SIGNS
	VMOVUPD (DI), Y0
	VMOVUPD 32(DI), Y1
	VMOVUPD 64(DI), Y2
	VMOVUPD 96(DI), Y3
	VMOVUPD 128(DI), Y4
	VMOVUPD 160(DI), Y5
	VMOVUPD 192(DI), Y6
	VMOVUPD 224(DI), Y7
	SPLIT(Y0, Y2, Y4, Y6, (SI))
	SPLIT(Y1, Y3, Y5, Y7, 32(SI))
	FOUR(Y4, Y5)
	VMOVUPD Y4, 128(DI)
	VMOVUPD Y5, 160(DI)
	EIGHT
	VXORPD signs<>(SB), Y12, Y12 // the last quarter is the mirror image
	FOUR(Y6, Y7)
	VMOVUPD Y6, 192(DI)
	VMOVUPD Y7, 224(DI)
	VZEROUPPER
	RET

// func transform8Wide(x, w8 *complex128, mirrored bool)
TEXT ·transform8Wide(SB), NOSPLIT, $0-17
	MOVQ x+0(FP), DI
	MOVQ w8+8(FP), DX
	MOVBQZX mirrored+16(FP), AX
	SIGNS
	VMOVUPD (DI), Y0
	VMOVUPD 32(DI), Y1
	VMOVUPD 64(DI), Y2
	VMOVUPD 96(DI), Y3
	EIGHT
	VZEROUPPER
	RET

// 2⁴⁰, and 1.5·2⁵²: added to a whole number it leaves that in the lowest bits.
DATA finest<>+0x00(SB)/8, $0x4270000000000000
GLOBL finest<>(SB), RODATA|NOPTR, $8
DATA whole<>+0x00(SB)/8, $0x4338000000000000
GLOBL whole<>(SB), RODATA|NOPTR, $8

// func lookWide(l *lanes, x *float64, n int)
TEXT ·lookWide(SB), NOSPLIT, $0-24
	MOVQ l+0(FP), DI
	MOVQ x+8(FP), SI
	MOVQ n+16(FP), CX
	VMOVUPD (DI), Y0            // sum
	VMOVUPD 32(DI), Y1          // lowest
	VMOVUPD 64(DI), Y2          // most
	VMOVUPD 96(DI), Y3          // bend
	VMOVUPD 128(DI), Y4         // sharpest
	VMOVUPD 160(DI), Y5         // digits
	VBROADCASTSD finest<>(SB), Y6
	VBROADCASTSD whole<>(SB), Y7

lookLoop:
	VMOVUPD (SI), Y8            // v
	VMOVUPD -8(SI), Y9          // last
	VADDPD  Y8, Y0, Y0
	VMINPD  Y1, Y8, Y1
	VMAXPD  Y2, Y8, Y2
	VMULPD  Y6, Y8, Y10
	VROUNDPD $3, Y10, Y10       // towards zero
	VADDPD  Y7, Y10, Y10
	VORPD   Y10, Y5, Y5
	VSUBPD  Y9, Y8, Y11         // v − last
	VSUBPD  -16(SI), Y9, Y12    // last − before
	VSUBPD  Y12, Y11, Y11
	VMULPD  Y11, Y11, Y11
	VADDPD  Y11, Y3, Y3
	VMAXPD  Y4, Y11, Y4
	ADDQ $32, SI
	SUBQ $4, CX
	JGT  lookLoop

	VMOVUPD Y0, (DI)
	VMOVUPD Y1, 32(DI)
	VMOVUPD Y2, 64(DI)
	VMOVUPD Y3, 96(DI)
	VMOVUPD Y4, 128(DI)
	VMOVUPD Y5, 160(DI)
	VZEROUPPER
	RET
