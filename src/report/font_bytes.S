/* The shipped font (data/fonts, SIL Open Font License 1.1) inside the program, so that no path and no installed font
 * can change a paper. */
    .section .rodata
    .balign 16
    .globl font_regular_first
    .globl font_regular_last
font_regular_first:
    .incbin "NotoSans-Regular.ttf"
font_regular_last:
    .byte 0
    .balign 16
    .globl font_bold_first
    .globl font_bold_last
font_bold_first:
    .incbin "NotoSans-Bold.ttf"
font_bold_last:
    .byte 0
    .section .note.GNU-stack, "", %progbits
