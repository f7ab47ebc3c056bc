# Repeats become a reading; what does not belong is named; two readings are compared.
head='SAMPLE_ID,400,410,420,430,440,450,460,470,480,490,500,510,520,530,540,550,560,570,580,590,600,610,620,630,640,650,660,670,680,690,700'
good='6.41,6.54,6.45,6.05,5.62,5.43,5.37,5.41,5.59,6.03,6.51,6.80,7.05,7.36,7.72,8.09,8.70,9.90,11.28,12.51,13.60,14.39,15.11,15.90,16.88,18.28,19.96,21.87,23.97,26.18,28.52'
near='6.44,6.57,6.48,6.08,5.65,5.46,5.40,5.44,5.62,6.06,6.54,6.83,7.08,7.39,7.75,8.12,8.74,9.95,11.33,12.57,13.66,14.45,15.18,15.97,16.96,18.36,20.05,21.97,24.08,26.30,28.65'
dark='4.81,4.91,4.84,4.54,4.22,4.07,4.03,4.06,4.19,4.52,4.88,5.10,5.29,5.52,5.79,6.07,6.53,7.43,8.46,9.38,10.20,10.79,11.33,11.93,12.66,13.71,14.97,16.40,17.98,19.64,21.39'
printf '%s\n' "$head" "seat-1,$good" "seat-2,$near" "seat-3,$dark" "seat-4,$good" > seat.csv
printf '%s\n' "$head" "arm,$near" > arm.csv
sed 's/^nm/wavelength/' "$DATA/checks/metamer_pair_spectra.csv" > pair.csv

show russet reading seat.csv --geometry sci
show russet reading seat.csv --geometry sci --json --out seat.json
show russet reading seat.json --illuminant A
show russet reading 'seat.csv#seat-1' arm.csv
cat seat.csv > piped.csv
show russet reading - < piped.csv
show russet reading '-#seat-3' < piped.csv
show russet compare 'pair.csv#std' 'pair.csv#metamer'
show russet compare 'pair.csv#std' 'pair.csv#paramer' --json
show russet compare seat.json --lab=36,13.5,14
show russet compare --lab 50,10,20 --lab 49,11,20 --json
printf 'nm,power\n' > lamp.csv
tail -n +1 "$SHIPPED/cie/illum_LED-B3.csv" >> lamp.csv
show russet compare 'pair.csv#std' 'pair.csv#paramer' --illuminants D65,LED-B3,lamp --lamp lamp.csv

# What is refused, with what would be right.
show russet compare seat.json
show russet compare - -
show russet compare 'seat.csv#seat-9' arm.csv
show russet compare seat.json arm.csv --illuminants D65,moon
show russet compare seat.json arm.csv --illuminants D65,lamp
show russet reading --lab=50,1,2 --illuminant A
show russet reading --lab=50,1
russet reading arm.csv --geometry sce --json > arm-sce.json
show russet compare seat.json arm-sce.json
bright=$(sed 's/[0-9.]*/90/g' <<< "$good")
printf '%s\n' "$head" "brown,$good" "white,$bright" > chart.csv
show russet reading chart.csv
printf 'nm,power\n400,1\n405,x\n' > broken.csv
show russet reading seat.csv --lamp broken.csv
