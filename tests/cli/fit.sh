# Slips in the drawdowns of a toner that few films speak of: the slip is named, the toner's good films stay (tests/data/fit is invented).
cp "$DATA"/fit/one-film-slipped.csv "$DATA"/fit/about.json .
show russet toners fit one-film-slipped.csv --about about.json
# The film as it is, and ochre written where red earth was poured, on both cards.
awk -F, -v OFS=, '/^umber-full-w,/ { $3 = 37.0 } /^red-earth-mid-/ { ochre = $6; $6 = $7; $7 = ochre } { print }' one-film-slipped.csv > other-toner.csv
show russet toners fit other-toner.csv --about about.json
# In mil, and without any thickness.
awk -F, -v OFS=, '/^[^#S]/ && $3 != "" { $3 = $1 == "umber-full-w" ? 1.46 : sprintf("%.2f", $3 / 25.4) } { print }' one-film-slipped.csv > mil.csv
show russet toners fit mil.csv --about about.json
sed 's/FILM_UM/THICKNESS/' one-film-slipped.csv > no-film.csv
show russet toners fit no-film.csv --about about.json
