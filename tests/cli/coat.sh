# From a film to what is mixed, a plan, the air, a sheen. The ladder is invented.
cat > ladder.csv <<'END'
matte_fraction,gu20,gu60,gu85,coats
0,68,87.2,95,3
0.1,40,58.8,85,3
0.2,22,39.8,76,3
0.3,12,27.1,68,3
0.4,6.5,18.6,60,3
0.5,3.6,12.8,51,3
0.6,2,9,43,3
0.7,1.2,6.4,34,3
0.8,0.8,4.7,26,3
0.9,0.5,3.6,18,3
1,0.4,2.8,11,3
END
show russet amount --area-m2 1.4 --film-um 30 --solids-volume .25 --transfer .65 --spare .05 --density-g-ml 1.05
show russet amount --area-m2 .6 --film-um 30 --solids-volume .25 --by mini-gun --edge seam --edge fade --fade-length-mm 600 --film-to-hide-um 22 --ground-into-fade-mm 30 --old-film-um 125
show russet amount --area-m2 1 --film-um 30 --solids-volume .25 --transfer .65 --density-g-ml 1.05 --volatiles .6 --water .5 --json
show russet coats --area-m2 .6 --film-um 30 --solids-volume .25 --by gun --flow 100ml/min --fan 8in --panel-mm 1000,600 --start 14:05 --pot-life-min 60 --air-c 18 --rh 70 --surface-c 17 --film-to-hide-um 20 --pressure 45psi --title "cognac helm seat" --out card.pdf
head -c 5 card.pdf; echo
show russet air --air-c 16 --rh 71 --surface-c 13
show russet air --air-c 22 --rh 45 --surface-c 21 --json
show russet sheen --ladder ladder.csv --target-gu 4.5 --batch-ml 80
show russet sheen --ladder ladder.csv --target-gu 4.5 --batch-ml 80 --measured .815=5.3 --place dash --from-gu 3
show russet sheen --ladder ladder.csv --target-gu 1
show russet sheen --by-eye --ladder ladder.csv
show russet sheen --by-eye --nearest 3,4 --batch-ml 50 --place wheel
printf 'matte_fraction,gu60\n0,81\n1,4\n' > ends.csv
show russet sheen --ladder ends.csv --target-gu 18 --json
printf 'matte_fraction,gu60\n0,81\n.5,20\n.7,60\n1,4\n' > odd.csv
show russet sheen --ladder odd.csv --target-gu 18
show russet units 30psi kPa
show russet units 1mil
show russet units P320
show russet units "CAMI 400"
show russet units 400
show russet units "5 oz" ml
