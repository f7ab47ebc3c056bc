cp "$DATA/cracks/sut06.jpg" panel.jpg
show russet photo damage panel.jpg --mm-per-px .1
show russet photo damage panel.jpg
show russet photo damage panel.jpg --mm-per-px .1 --sound "10,10 20,10"
cat > lights.json <<'J'
{"lights": [{"photo": "panel.jpg", "azimuth_deg": 30, "elevation_deg": 27}]}
J
show russet photo grain panel.jpg panel.jpg panel.jpg --lights lights.json --mm-per-px .1
show russet photo grain panel.jpg --lights lights.json --mm-per-px .1
cat > sound.json <<'J'
{"kind": "grain", "Sa_um": 8.1, "Sa_um_u95": 0.5, "Sal_mm": 0.31, "Sal_mm_u95": 0.01, "Str": 0.82, "Ssk": 0.1, "s_filter_mm": 0.25, "l_filter_mm": 5}
J
cat > repair.json <<'J'
{"kind": "grain", "Sa_um": 5.2, "Sa_um_u95": 0.4, "Sal_mm": 0.42, "Sal_mm_u95": 0.01, "Str": 0.79, "Ssk": -0.9, "s_filter_mm": 0.25, "l_filter_mm": 5}
J
show russet grain compare sound.json repair.json
show russet grain compare sound.json sound.json
echo "pressure_bar,fluid_turns,distance_mm,viscosity_s,coats,Sal_mm,Sa_um" > shots.csv
show russet grain gun --log shots.csv --want sound.json
echo "2.0,1.5,150,20,1,.42,5.2" >> shots.csv
show russet grain gun --log shots.csv --want sound.json --viscosity-s 18,24
echo "1.4,1.2,150,24,1,.32,8.6" >> shots.csv
show russet grain gun --log shots.csv --want sound.json
echo "1.4,1.2,150,24,none,.32,8.6" >> shots.csv
show russet grain gun --log shots.csv --want sound.json
