#include "textflag.h"

DATA magnitude<>+0(SB)/8, $0x7fffffffffffffff
GLOBL magnitude<>(SB), RODATA|NOPTR, $8

// func largestAVX(x *float64, n int) (top float64, nan uint64)
TEXT ·largestAVX(SB), NOSPLIT, $0-32
	MOVQ         x+0(FP), SI
	MOVQ         n+8(FP), CX
	VBROADCASTSD magnitude<>(SB), Y15
	VXORPD       Y0, Y0, Y0
	VXORPD       Y1, Y1, Y1
	VXORPD       Y2, Y2, Y2

eights:
	VMOVUPD (SI), Y4
	VMOVUPD 32(SI), Y5
	VCMPPD  $3, Y5, Y4, Y6 // is either no number?
	VORPD   Y6, Y2, Y2
	VANDPD  Y15, Y4, Y4
	VANDPD  Y15, Y5, Y5
	VMAXPD  Y4, Y0, Y0
	VMAXPD  Y5, Y1, Y1
	ADDQ    $64, SI
	SUBQ    $8, CX
	JG      eights

	VMAXPD       Y1, Y0, Y0
	VEXTRACTF128 $1, Y0, X1
	VMAXPD       X1, X0, X0
	VPERMILPD    $1, X0, X1
	VMAXSD       X1, X0, X0
	VMOVMSKPD    Y2, AX
	VZEROUPPER
	MOVSD        X0, top+16(FP)
	MOVQ         AX, nan+24(FP)
	RET

// func powerAVX(k *kCoef, l, r *float64, n int, a, b *kState, sums *[2]float64)
//
// The left lane is l's, the right one r's. The order of operations is that of
// kState.power, so the results are the same to the last bit.
TEXT ·powerAVX(SB), NOSPLIT, $0-56
	MOVQ     k+0(FP), R8
	MOVQ     l+8(FP), SI
	MOVQ     r+16(FP), DI
	MOVQ     n+24(FP), CX
	MOVQ     a+32(FP), R9
	MOVQ     b+40(FP), R10
	MOVQ     sums+48(FP), R11
	VMOVSD   (R9), X0            // x1
	VMOVHPD  (R10), X0, X0
	VMOVSD   8(R9), X1           // x2
	VMOVHPD  8(R10), X1, X1
	VMOVSD   16(R9), X2          // v1
	VMOVHPD  16(R10), X2, X2
	VMOVSD   24(R9), X3          // v2
	VMOVHPD  24(R10), X3, X3
	VMOVSD   32(R9), X4          // y1
	VMOVHPD  32(R10), X4, X4
	VMOVSD   40(R9), X5          // y2
	VMOVHPD  40(R10), X5, X5
	VMOVUPD  (R11), X6
	VMOVDDUP 24(R8), X11         // a1
	VMOVDDUP 32(R8), X12         // a2
	VMOVDDUP 40(R8), X13         // c1
	VMOVDDUP 48(R8), X14         // c2
	XORQ     DX, DX

sample:
	VMOVSD   (SI)(DX*8), X15
	VMOVHPD  (DI)(DX*8), X15, X15
	VMOVDDUP (R8), X7            // b0
	VMULPD   X7, X15, X7
	VMOVDDUP 8(R8), X8           // b1
	VMULPD   X8, X0, X8
	VADDPD   X8, X7, X7
	VMOVDDUP 16(R8), X8          // b2
	VMULPD   X8, X1, X8
	VADDPD   X8, X7, X7
	VMULPD   X12, X3, X8
	VSUBPD   X8, X7, X7
	VMULPD   X11, X2, X8
	VSUBPD   X8, X7, X7          // v0
	VADDPD   X2, X2, X8
	VSUBPD   X8, X7, X9
	VADDPD   X3, X9, X9
	VMULPD   X14, X5, X8
	VSUBPD   X8, X9, X9
	VMULPD   X13, X4, X8
	VSUBPD   X8, X9, X9          // y0
	VMULPD   X9, X9, X8
	VADDPD   X8, X6, X6
	VMOVAPD  X0, X1
	VMOVAPD  X15, X0
	VMOVAPD  X2, X3
	VMOVAPD  X7, X2
	VMOVAPD  X4, X5
	VMOVAPD  X9, X4
	INCQ     DX
	CMPQ     DX, CX
	JLT      sample

	VMOVLPD X0, (R9)
	VMOVHPD X0, (R10)
	VMOVLPD X1, 8(R9)
	VMOVHPD X1, 8(R10)
	VMOVLPD X2, 16(R9)
	VMOVHPD X2, 16(R10)
	VMOVLPD X3, 24(R9)
	VMOVHPD X3, 24(R10)
	VMOVLPD X4, 32(R9)
	VMOVHPD X4, 32(R10)
	VMOVLPD X5, 40(R9)
	VMOVHPD X5, 40(R10)
	VMOVUPD X6, (R11)
	VZEROUPPER
	RET

// func nearestAVX(x *float64, taps *tpTaps, others, over, peak float64) (may uint64)
TEXT ·nearestAVX(SB), NOSPLIT, $0-48
	MOVQ         x+0(FP), SI
	MOVQ         taps+8(FP), DI
	VBROADCASTSD magnitude<>(SB), Y15
	VMOVUPD      (SI), Y0             // l
	VMOVUPD      8(SI), Y1            // r
	VANDPD       Y15, Y0, Y2
	VANDPD       Y15, Y1, Y3
	VMAXPD       Y3, Y2, Y14          // the larger sample of each interval
	VADDPD       Y1, Y0, Y2
	VSUBPD       Y1, Y0, Y3
	VBROADCASTSD (DI), Y4
	VMULPD       Y4, Y2, Y8           // mid
	VBROADCASTSD 128(DI), Y5
	VMULPD       Y5, Y2, Y9           // even
	VBROADCASTSD 256(DI), Y6
	VMULPD       Y6, Y3, Y10          // odd

	VMOVUPD      -8(SI), Y0
	VMOVUPD      16(SI), Y1
	VADDPD       Y1, Y0, Y2
	VSUBPD       Y1, Y0, Y3
	VBROADCASTSD 8(DI), Y4
	VMULPD       Y4, Y2, Y4
	VADDPD       Y4, Y8, Y8
	VBROADCASTSD 136(DI), Y5
	VMULPD       Y5, Y2, Y5
	VADDPD       Y5, Y9, Y9
	VBROADCASTSD 264(DI), Y6
	VMULPD       Y6, Y3, Y6
	VADDPD       Y6, Y10, Y10

	VMOVUPD      -16(SI), Y0
	VMOVUPD      24(SI), Y1
	VADDPD       Y1, Y0, Y2
	VSUBPD       Y1, Y0, Y3
	VBROADCASTSD 16(DI), Y4
	VMULPD       Y4, Y2, Y4
	VADDPD       Y4, Y8, Y8
	VBROADCASTSD 144(DI), Y5
	VMULPD       Y5, Y2, Y5
	VADDPD       Y5, Y9, Y9
	VBROADCASTSD 272(DI), Y6
	VMULPD       Y6, Y3, Y6
	VADDPD       Y6, Y10, Y10

	VMOVUPD      -24(SI), Y0
	VMOVUPD      32(SI), Y1
	VADDPD       Y1, Y0, Y2
	VSUBPD       Y1, Y0, Y3
	VBROADCASTSD 24(DI), Y4
	VMULPD       Y4, Y2, Y4
	VADDPD       Y4, Y8, Y8
	VBROADCASTSD 152(DI), Y5
	VMULPD       Y5, Y2, Y5
	VADDPD       Y5, Y9, Y9
	VBROADCASTSD 280(DI), Y6
	VMULPD       Y6, Y3, Y6
	VADDPD       Y6, Y10, Y10

	VANDPD       Y15, Y8, Y8
	VANDPD       Y15, Y9, Y9
	VANDPD       Y15, Y10, Y10
	VADDPD       Y10, Y9, Y9
	VMAXPD       Y9, Y8, Y8
	VBROADCASTSD others+16(FP), Y0
	VADDPD       Y0, Y8, Y8
	VMAXPD       Y14, Y8, Y8
	VBROADCASTSD over+24(FP), Y0
	VMULPD       Y0, Y8, Y8
	VBROADCASTSD peak+32(FP), Y0
	VCMPPD       $1, Y8, Y0, Y0       // peak < bound
	VMOVMSKPD    Y0, AX
	VZEROUPPER
	MOVQ         AX, may+40(FP)
	RET
