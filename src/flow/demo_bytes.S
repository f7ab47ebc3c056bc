/* The demo's files inside the program (data/demo; all invented, see data/demo/README). */
    .section .rodata
    .macro demo symbol, file
    .balign 16
    .globl \symbol\()_begin
    .globl \symbol\()_end
\symbol\()_begin:
    .incbin "\file"
\symbol\()_end:
    .byte 0
    .endm
    demo demo_drawdowns, drawdowns.cgats
    demo demo_about, about.json
    demo demo_seat, helm-seat.cgats
    demo demo_grounds, grounds.cgats
    demo demo_stock, stock.json
    .section .note.GNU-stack, "", %progbits
