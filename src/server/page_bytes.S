/* The page inside the program (web/dist, built by web/build). */
    .section .rodata
    .macro page symbol, file
    .balign 16
    .globl \symbol\()_begin
    .globl \symbol\()_end
\symbol\()_begin:
    .incbin "\file"
\symbol\()_end:
    .byte 0
    .endm
    page page_index, index.html
    page page_script, app.js
    page page_style, app.css
    page page_icon, icon.svg
    page page_manifest, manifest.webmanifest
    .section .note.GNU-stack, "", %progbits
