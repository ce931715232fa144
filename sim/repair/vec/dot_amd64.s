#include "textflag.h"

// func dotFMA(a, b *float64, n int) float64
TEXT ·dotFMA(SB), NOSPLIT, $0-32
	MOVQ   a+0(FP), SI
	MOVQ   b+8(FP), DI
	MOVQ   n+16(FP), CX
	VXORPD Y0, Y0, Y0
	VXORPD Y1, Y1, Y1
	VXORPD Y2, Y2, Y2
	VXORPD Y3, Y3, Y3
	SUBQ   $16, CX
	JL     fours

sixteens:
	VMOVUPD     (SI), Y4
	VMOVUPD     32(SI), Y5
	VMOVUPD     64(SI), Y6
	VMOVUPD     96(SI), Y7
	VFMADD231PD (DI), Y4, Y0
	VFMADD231PD 32(DI), Y5, Y1
	VFMADD231PD 64(DI), Y6, Y2
	VFMADD231PD 96(DI), Y7, Y3
	ADDQ        $128, SI
	ADDQ        $128, DI
	SUBQ        $16, CX
	JGE         sixteens

fours:
	ADDQ $12, CX
	JL   fold

four:
	VMOVUPD     (SI), Y4
	VFMADD231PD (DI), Y4, Y0
	ADDQ        $32, SI
	ADDQ        $32, DI
	SUBQ        $4, CX
	JGE         four

fold:
	VADDPD       Y1, Y0, Y0
	VADDPD       Y3, Y2, Y2
	VADDPD       Y2, Y0, Y0
	VEXTRACTF128 $1, Y0, X1
	VADDPD       X1, X0, X0
	VHADDPD      X0, X0, X0
	ADDQ         $4, CX
	JLE          done

one:
	VMOVSD      (SI), X4
	VFMADD231SD (DI), X4, X0
	ADDQ        $8, SI
	ADDQ        $8, DI
	DECQ        CX
	JG          one

done:
	VZEROUPPER
	MOVSD X0, ret+24(FP)
	RET

// func solve4FMA(acc, l, r *float64, n int, d float64)
TEXT ·solve4FMA(SB), NOSPLIT, $0-40
	MOVQ    acc+0(FP), DI
	MOVQ    l+8(FP), SI
	MOVQ    r+16(FP), DX
	MOVQ    n+24(FP), CX
	VMOVUPD (DI), Y0
	VXORPD  Y1, Y1, Y1
	VXORPD  Y2, Y2, Y2
	VXORPD  Y3, Y3, Y3
	SUBQ    $4, CX
	JL      rest

many:
	VBROADCASTSD (SI), Y4
	VBROADCASTSD 8(SI), Y5
	VBROADCASTSD 16(SI), Y6
	VBROADCASTSD 24(SI), Y7
	VFNMADD231PD (DX), Y4, Y0
	VFNMADD231PD 32(DX), Y5, Y1
	VFNMADD231PD 64(DX), Y6, Y2
	VFNMADD231PD 96(DX), Y7, Y3
	ADDQ         $32, SI
	ADDQ         $128, DX
	SUBQ         $4, CX
	JGE          many

rest:
	ADDQ $4, CX
	JLE  sum

single:
	VBROADCASTSD (SI), Y4
	VFNMADD231PD (DX), Y4, Y1
	ADDQ         $8, SI
	ADDQ         $32, DX
	DECQ         CX
	JG           single

sum:
	VADDPD       Y1, Y0, Y0
	VADDPD       Y3, Y2, Y2
	VADDPD       Y2, Y0, Y0
	VBROADCASTSD d+32(FP), Y4
	VMULPD       Y4, Y0, Y0
	VMOVUPD      Y0, (DI)
	VZEROUPPER
	RET
