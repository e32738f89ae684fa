#!/bin/sh
# Makes the four dial files of this folder again from the reference samples. Run it in the top folder of the project.
set -e
cargo build --release
bin=target/release/needleband
$bin calibrate samples/gearbox-oil/reference.jpg --unit C --name "gearbox oil" \
    --mark 40@596.1,731.6 --mark 60@598.1,450.7 --mark 80@847.4,309.4 --mark 100@1085.3,455.1 --mark 120@1077.2,734.4 \
    --pivot 840.7,594.7 --out calibration/gearbox-oil.json --picture calibration/gearbox-oil-check.jpg --force
$bin calibrate samples/cluster-coolant/reference.jpg --unit C --name "cluster coolant" \
    --mark 50@389.7,596.3 --mark 90@718.4,365.3 --mark 130@1043.3,590.5 \
    --pivot 721.5,712.5 --out calibration/cluster-coolant.json --picture calibration/cluster-coolant-check.jpg --force
$bin calibrate samples/night-oil/reference.jpg --unit F --name "night oil" \
    --mark 90@485.4,755.4 --mark 160@517.5,279.9 --mark 230@995.1,260.9 --mark 300@1067.1,729.7 \
    --pivot 770.0,535.9 --out calibration/night-oil.json --picture calibration/night-oil-check.jpg --force
$bin calibrate samples/transfer-box/reference.jpg --unit C --name "transfer box" \
    --mark 20@524.2,771.7 --mark 40@464.4,592.4 --mark 60@544.1,366.4 --mark 80@794.6,251.0 --mark 100@1048.1,370.9 --mark 120@1128.4,602.3 --mark 140@1065.4,783.4 \
    --pivot 793.5,588.8 --out calibration/transfer-box.json --picture calibration/transfer-box-check.jpg --force
