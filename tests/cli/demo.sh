# The demo's whole chain: the spot, the shelf, the recipe, the pour and a slip, the eye, the ring, the coats, the air.
bash "$SHIPPED/demo/run" --here
head -c 5 pour-sheet.pdf ring.pdf coat-card.pdf | cat -v
echo
