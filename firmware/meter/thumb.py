"""The two innermost loops for the board's processor, a Cortex-M0+: five times as fast as viper makes them.

plain.py holds the same two for any other machine, and says what they do; both give the same integers. Cycles in
the comments are from the ARM Cortex-M0+ Technical Reference Manual, table 3.1.
"""

# What MicroPython's assembler has no name for (ARMv6-M Architecture Reference Manual, A6.7): r8 and up take part in
# few instructions, and are the caller's.
_ADD_R10_R7 = const(0x44BA)
_ADD_R9_R6 = const(0x44B1)
_ADD_R5_R11 = const(0x445D)
_ADD_R12_R8 = const(0x44C4)
_CMP_R0_R14 = const(0x4570)
_SXTH_R4_R4 = const(0xB224)
_LDRSH_R3_R2_R5 = const(0x5F53)  # from r2 + r5
_LDMIA_R0_R4_R5 = const(0xC830)
_LDMIA_R1_R6_R7 = const(0xC9C0)


@micropython.asm_thumb
def mix(r0, r1, r2, r3):
    """plain.mix."""
    mov(r4, r8)
    mov(r5, r9)
    mov(r6, r10)
    mov(r7, r11)
    push({r4, r5, r6, r7})
    ldr(r4, [r1, 0])
    add(r4, r4, r4)
    add(r0, r0, r4)
    ldr(r4, [r1, 12])
    lsl(r4, r4, 2)
    mov(r8, r4)  # step, 2^32 to the turn
    mov(r4, 8)
    lsl(r4, r4, 7)
    mov(r11, r4)  # bytes from sine to cosine
    label(BLOCK)
    ldr(r4, [r1, 4])
    cmp(r4, 0)
    ble(DONE)
    sub(r4, 1)
    str(r4, [r1, 4])
    ldr(r4, [r1, 8])
    add(r4, r4, r4)
    add(r4, r4, r0)
    mov(r14, r4)  # end of the block
    ldr(r4, [r1, 24])
    lsl(r5, r4, 21)
    mov(r12, r5)  # phase, 2^32 to the turn
    ldr(r5, [r1, 16])
    add(r4, r4, r5)
    str(r4, [r1, 24])
    mov(r6, 0)  # sum with the cosine
    mov(r7, 0)  # and with the sine
    mov(r9, r6)  # sums of these sums
    mov(r10, r6)
    push({r1, r3})
    ldr(r1, [r1, 20])
    label(SAMPLE)  # 26 cycles
    ldrh(r4, [r0, 0])
    data(2, _SXTH_R4_R4)
    add(r0, 2)
    mov(r5, r12)
    lsr(r5, r5, 21)
    add(r5, r5, r5)
    data(2, _LDRSH_R3_R2_R5)
    mul(r3, r4)
    asr(r3, r1)
    add(r7, r7, r3)
    data(2, _ADD_R10_R7)
    data(2, _ADD_R5_R11)
    data(2, _LDRSH_R3_R2_R5)
    mul(r3, r4)
    asr(r3, r1)
    add(r6, r6, r3)
    data(2, _ADD_R9_R6)
    data(2, _ADD_R12_R8)
    data(2, _CMP_R0_R14)
    bne(SAMPLE)
    pop({r1, r3})
    str(r6, [r3, 0])
    mov(r4, r9)
    str(r4, [r3, 4])
    str(r7, [r3, 8])
    mov(r4, r10)
    str(r4, [r3, 12])
    add(r3, 16)
    b(BLOCK)
    label(DONE)
    pop({r4, r5, r6, r7})
    mov(r8, r4)
    mov(r9, r5)
    mov(r10, r6)
    mov(r11, r7)


@micropython.asm_thumb
def products(r0, r1, r2, r3):
    """plain.products."""
    lsl(r1, r1, 2)
    add(r1, r1, r0)
    mov(r14, r1)  # end of the earlier stretch
    lsl(r2, r2, 2)
    add(r2, r2, r0)
    push({r2})  # where the later stretch of the longest lag begins
    mov(r1, r0)
    label(LAG)
    push({r0, r1})
    mov(r2, 0)
    label(PAIR)  # 13 cycles for two products
    data(2, _LDMIA_R0_R4_R5)
    data(2, _LDMIA_R1_R6_R7)
    mul(r4, r6)
    add(r2, r2, r4)
    mul(r5, r7)
    add(r2, r2, r5)
    data(2, _CMP_R0_R14)
    bne(PAIR)
    str(r2, [r3, 0])
    add(r3, 4)
    pop({r0, r1})
    add(r1, 4)
    pop({r2})
    push({r2})
    cmp(r1, r2)
    bls(LAG)
    pop({r2})
