#include "textflag.h"

// The sign of the imaginary parts of two complex numbers.
DATA conj<>+0(SB)/8, $0
DATA conj<>+8(SB)/8, $0x8000000000000000
DATA conj<>+16(SB)/8, $0
DATA conj<>+24(SB)/8, $0x8000000000000000
GLOBL conj<>(SB), RODATA|NOPTR, $32

DATA half<>+0(SB)/8, $0.5
GLOBL half<>(SB), RODATA|NOPTR, $8

// The four sums of a butterfly of radix 4: from x in Y0 to Y3 to
// Y0 = s0+s1, Y1 = d0+d1, Y2 = s0−s1, Y3 = d0−d1; Y15 holds conj.
#define BUTTERFLY \
	VADDPD    Y2, Y0, Y4  \
	VSUBPD    Y2, Y0, Y5  \
	VADDPD    Y3, Y1, Y6  \
	VSUBPD    Y3, Y1, Y7  \
	VPERMILPD $5, Y7, Y7  \
	VXORPD    Y15, Y7, Y7 \
	VADDPD    Y6, Y4, Y0  \
	VADDPD    Y7, Y5, Y1  \
	VSUBPD    Y6, Y4, Y2  \
	VSUBPD    Y7, Y5, Y3

// v times w, whose real parts are in re and imaginary ones in im.
#define TIMES(v, re, im, t) \
	VPERMILPD      $5, v, t \
	VMULPD         im, t, t \
	VFMADDSUB213PD t, re, v

// func firstStage(y, x, w *complex128, l int)
// w holds l factors of the first output, l of the second, l of the third.
TEXT ·firstStage(SB), NOSPLIT, $0-32
	MOVQ    y+0(FP), DI
	MOVQ    x+8(FP), SI
	MOVQ    w+16(FP), DX
	MOVQ    l+24(FP), CX
	MOVQ    CX, R8
	SHLQ    $4, R8
	LEAQ    (R8)(R8*2), R9
	VMOVUPD conj<>(SB), Y15

first:
	VMOVUPD   (SI), Y0
	VMOVUPD   (SI)(R8*1), Y1
	VMOVUPD   (SI)(R8*2), Y2
	VMOVUPD   (SI)(R9*1), Y3
	BUTTERFLY
	VMOVUPD   (DX), Y8
	VMOVUPD   (DX)(R8*1), Y9
	VMOVUPD   (DX)(R8*2), Y10
	VPERMILPD $0, Y8, Y11
	VPERMILPD $15, Y8, Y12
	TIMES(Y1, Y11, Y12, Y4)
	VPERMILPD $0, Y9, Y11
	VPERMILPD $15, Y9, Y12
	TIMES(Y2, Y11, Y12, Y5)
	VPERMILPD $0, Y10, Y11
	VPERMILPD $15, Y10, Y12
	TIMES(Y3, Y11, Y12, Y6)
	VPERM2F128 $0x20, Y1, Y0, Y4
	VPERM2F128 $0x20, Y3, Y2, Y5
	VPERM2F128 $0x31, Y1, Y0, Y6
	VPERM2F128 $0x31, Y3, Y2, Y7
	VMOVUPD   Y4, (DI)
	VMOVUPD   Y5, 32(DI)
	VMOVUPD   Y6, 64(DI)
	VMOVUPD   Y7, 96(DI)
	ADDQ      $32, SI
	ADDQ      $32, DX
	ADDQ      $128, DI
	SUBQ      $2, CX
	JG        first
	VZEROUPPER
	RET

// func stage(y, x, w *complex128, l, m int)
// w holds three factors for each of l.
TEXT ·stage(SB), NOSPLIT, $0-40
	MOVQ    y+0(FP), DI
	MOVQ    x+8(FP), SI
	MOVQ    w+16(FP), DX
	MOVQ    l+24(FP), CX
	MOVQ    m+32(FP), R10
	MOVQ    R10, R8
	IMULQ   CX, R8
	SHLQ    $4, R8
	LEAQ    (R8)(R8*2), R9
	MOVQ    R10, R12
	SHLQ    $4, R10
	LEAQ    (R10)(R10*2), R11
	VMOVUPD conj<>(SB), Y15

outer:
	VBROADCASTSD (DX), Y9
	VBROADCASTSD 8(DX), Y10
	VBROADCASTSD 16(DX), Y11
	VBROADCASTSD 24(DX), Y12
	VBROADCASTSD 32(DX), Y13
	VBROADCASTSD 40(DX), Y14
	ADDQ         $48, DX
	MOVQ         R12, BX

inner:
	VMOVUPD   (SI), Y0
	VMOVUPD   (SI)(R8*1), Y1
	VMOVUPD   (SI)(R8*2), Y2
	VMOVUPD   (SI)(R9*1), Y3
	BUTTERFLY
	TIMES(Y1, Y9, Y10, Y4)
	TIMES(Y2, Y11, Y12, Y5)
	TIMES(Y3, Y13, Y14, Y6)
	VMOVUPD   Y0, (DI)
	VMOVUPD   Y1, (DI)(R10*1)
	VMOVUPD   Y2, (DI)(R10*2)
	VMOVUPD   Y3, (DI)(R11*1)
	ADDQ      $32, SI
	ADDQ      $32, DI
	SUBQ      $2, BX
	JG        inner
	ADDQ      R11, DI
	DECQ      CX
	JG        outer
	VZEROUPPER
	RET

// func lastStage(y, x *complex128, m int)
TEXT ·lastStage(SB), NOSPLIT, $0-24
	MOVQ y+0(FP), DI
	MOVQ x+8(FP), SI
	MOVQ m+16(FP), CX
	MOVQ CX, R8
	SHLQ $4, R8

last:
	VMOVUPD (SI), Y0
	VMOVUPD (SI)(R8*1), Y1
	VADDPD  Y1, Y0, Y2
	VSUBPD  Y1, Y0, Y3
	VMOVUPD Y2, (DI)
	VMOVUPD Y3, (DI)(R8*1)
	ADDQ    $32, SI
	ADDQ    $32, DI
	SUBQ    $2, CX
	JG      last
	VZEROUPPER
	RET

// func unfold(dst, z, w *complex128, h, pairs int)
// Bins k and h−k from 1 on, two of each at a time.
TEXT ·unfold(SB), NOSPLIT, $0-40
	MOVQ         dst+0(FP), DI
	MOVQ         z+8(FP), SI
	MOVQ         w+16(FP), DX
	MOVQ         h+24(FP), R8
	MOVQ         pairs+32(FP), CX
	SHLQ         $4, R8
	LEAQ         -32(SI)(R8*1), R9   // z[h−2]
	LEAQ         -32(DI)(R8*1), R10
	ADDQ         $16, SI
	ADDQ         $16, DI
	ADDQ         $16, DX
	VMOVUPD      conj<>(SB), Y15
	VBROADCASTSD half<>(SB), Y14

pair:
	VMOVUPD    (SI), Y0
	VMOVUPD    (R9), Y1
	VPERM2F128 $1, Y1, Y1, Y1
	VXORPD     Y15, Y1, Y1
	VADDPD     Y1, Y0, Y2
	VMULPD     Y14, Y2, Y2 // even part
	VSUBPD     Y1, Y0, Y3
	VMOVUPD    (DX), Y4
	VPERMILPD  $0, Y4, Y5
	VPERMILPD  $15, Y4, Y6
	TIMES(Y3, Y5, Y6, Y7)
	VADDPD     Y3, Y2, Y0
	VSUBPD     Y3, Y2, Y1
	VXORPD     Y15, Y1, Y1
	VPERM2F128 $1, Y1, Y1, Y1
	VMOVUPD    Y0, (DI)
	VMOVUPD    Y1, (R10)
	ADDQ       $32, SI
	ADDQ       $32, DI
	ADDQ       $32, DX
	SUBQ       $32, R9
	SUBQ       $32, R10
	DECQ       CX
	JG         pair
	VZEROUPPER
	RET

// func fold(dst, z, w *complex128, h, pairs int)
// The way back, conjugated.
TEXT ·fold(SB), NOSPLIT, $0-40
	MOVQ    dst+0(FP), DI
	MOVQ    z+8(FP), SI
	MOVQ    w+16(FP), DX
	MOVQ    h+24(FP), R8
	MOVQ    pairs+32(FP), CX
	SHLQ    $4, R8
	LEAQ    -32(SI)(R8*1), R9
	LEAQ    -32(DI)(R8*1), R10
	ADDQ    $16, SI
	ADDQ    $16, DI
	ADDQ    $16, DX
	VMOVUPD conj<>(SB), Y15

pair:
	VMOVUPD        (SI), Y0
	VMOVUPD        (R9), Y1
	VPERM2F128     $1, Y1, Y1, Y1
	VXORPD         Y15, Y1, Y1
	VADDPD         Y1, Y0, Y2
	VSUBPD         Y1, Y0, Y3
	VMOVUPD        (DX), Y4
	VPERMILPD      $0, Y4, Y5
	VPERMILPD      $15, Y4, Y6
	VPERMILPD      $5, Y3, Y7
	VMULPD         Y6, Y7, Y7
	VFMSUBADD213PD Y7, Y5, Y3 // times the conjugate
	VADDPD         Y3, Y3, Y3
	VADDPD         Y3, Y2, Y0
	VXORPD         Y15, Y0, Y0
	VSUBPD         Y3, Y2, Y1
	VPERM2F128     $1, Y1, Y1, Y1
	VMOVUPD        Y0, (DI)
	VMOVUPD        Y1, (R10)
	ADDQ           $32, SI
	ADDQ           $32, DI
	ADDQ           $32, DX
	SUBQ           $32, R9
	SUBQ           $32, R10
	DECQ           CX
	JG             pair
	VZEROUPPER
	RET

// func conjugate(dst *float64, z *complex128, pairs int)
TEXT ·conjugate(SB), NOSPLIT, $0-24
	MOVQ    dst+0(FP), DI
	MOVQ    z+8(FP), SI
	MOVQ    pairs+16(FP), CX
	VMOVUPD conj<>(SB), Y15

two:
	VXORPD  (SI), Y15, Y0
	VMOVUPD Y0, (DI)
	ADDQ    $32, SI
	ADDQ    $32, DI
	DECQ    CX
	JG      two
	VZEROUPPER
	RET
