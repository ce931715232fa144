#include "textflag.h"

// func powersFMA(mag *float64, z, t *complex128, fours int)
TEXT ·powersFMA(SB), NOSPLIT, $0-32
	MOVQ mag+0(FP), DI
	MOVQ z+8(FP), SI
	MOVQ t+16(FP), DX
	MOVQ fours+24(FP), CX

four:
	VMOVUPD (SI), Y0
	VMOVUPD 32(SI), Y1
	VADDPD  Y0, Y0, Y0
	VADDPD  Y1, Y1, Y1
	VSUBPD  (DX), Y0, Y0
	VSUBPD  32(DX), Y1, Y1
	VMULPD  Y0, Y0, Y0
	VMULPD  Y1, Y1, Y1
	VHADDPD Y1, Y0, Y0     // 0 2 1 3
	VPERMPD $0xd8, Y0, Y0
	VMOVUPD Y0, (DI)
	ADDQ    $64, SI
	ADDQ    $64, DX
	ADDQ    $32, DI
	DECQ    CX
	JG      four
	VZEROUPPER
	RET

// func keepFMA(t, z *complex128, mag *float64, fours int, least float64) float64
TEXT ·keepFMA(SB), NOSPLIT, $0-48
	MOVQ         t+0(FP), DI
	MOVQ         z+8(FP), SI
	MOVQ         mag+16(FP), DX
	MOVQ         fours+24(FP), CX
	VBROADCASTSD least+32(FP), Y15
	VXORPD       Y14, Y14, Y14
	VXORPD       Y13, Y13, Y13

keep:
	VMOVUPD      (DX), Y0
	VCMPPD       $0x1d, Y15, Y0, Y0 // at least, quietly
	VPERMPD      $0x50, Y0, Y1      // for the first two bins
	VPERMPD      $0xfa, Y0, Y2
	VMOVUPD      (SI), Y3
	VMOVUPD      32(SI), Y4
	VMOVUPD      (DI), Y5
	VMOVUPD      32(DI), Y6
	VSUBPD       Y3, Y5, Y5
	VSUBPD       Y4, Y6, Y6
	VBLENDVPD    Y1, Y3, Y5, Y7
	VBLENDVPD    Y2, Y4, Y6, Y8
	VMOVUPD      Y7, (DI)
	VMOVUPD      Y8, 32(DI)
	VBLENDVPD    Y1, Y5, Y3, Y9
	VBLENDVPD    Y2, Y6, Y4, Y10
	VFMADD231PD  Y9, Y9, Y14
	VFMADD231PD  Y10, Y10, Y13
	ADDQ         $64, SI
	ADDQ         $64, DI
	ADDQ         $32, DX
	DECQ         CX
	JG           keep
	VADDPD       Y13, Y14, Y0
	VEXTRACTF128 $1, Y0, X1
	VADDPD       X1, X0, X0
	VHADDPD      X0, X0, X0
	VZEROUPPER
	MOVSD        X0, ret+40(FP)
	RET

// func clampFMA(dst, x, lo, hi *float64, fours int, scale float64)
TEXT ·clampFMA(SB), NOSPLIT, $0-48
	MOVQ         dst+0(FP), DI
	MOVQ         x+8(FP), SI
	MOVQ         lo+16(FP), DX
	MOVQ         hi+24(FP), R8
	MOVQ         fours+32(FP), CX
	VBROADCASTSD scale+40(FP), Y15

clamp:
	VMULPD  (SI), Y15, Y0
	VMAXPD  (DX), Y0, Y0
	VMINPD  (R8), Y0, Y0
	VMOVUPD Y0, (DI)
	ADDQ    $32, SI
	ADDQ    $32, DI
	ADDQ    $32, DX
	ADDQ    $32, R8
	DECQ    CX
	JG      clamp
	VZEROUPPER
	RET
