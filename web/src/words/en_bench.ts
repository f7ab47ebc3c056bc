// English words of the colour steps: colour, recipe, pour, dabs, coats, grain, sheen.
export {};
