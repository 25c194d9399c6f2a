# ruff: noqa: E501  lines as they are typed
"""Command lines that go through every command of the program, in a filled studio.

What differs by the studio's units stands in braces; so do the photo and the folder to write
into. They are in an order in which each does something: reads, then changes, then mistakes.
"""

SIZES = {
    "imperial": {
        "size": "12x16in", "small": "8x10in", "round": "round 10in", "thick": "3/4in",
        "air": "70F 45%", "odd": "12 1/2 x 16 in", "strip": "1/2in", "shift": "1/4in,-1/8in",
        "box": "rectangle 1in,1in 3in,3in", "speed": "0.4", "cost": "14.50",
    },
    "metric": {
        "size": "30x40cm", "small": "20x25cm", "round": "round 25cm", "thick": "18mm",
        "air": "21C 45%", "odd": "31.5x40 cm", "strip": "12mm", "shift": "5mm,-3mm",
        "box": "rectangle 25mm,25mm 75mm,75mm", "speed": "10", "cost": "14,50",
    },
}  # fmt: skip

READS = """
settings
settings --sources
today
jobs
jobs --stage burning
jobs --owed
jobs --csv {dir}/jobs.csv
commission list
commission list --all
commission show C-0001
commission show C-0004
commission show C-0005
commission show C-0006
commission show C-0008
commission show C-0011
commission show {long}
client list
client show "Petra Wolff"
client show {long_client}
blank list
blank list --all
blank show B-0003
blank show B-0006
blank show B-0007
blank outline B-0003
blank buy
blank fit C-0009
blank fit C-0010 --photo {photo}
blank species
blank condition B-0006
blank condition B-0007
blank moisture B-0006
blank moisture B-0006 --shop "{air}"
blank movement B-0006 --home "{air}"
ladder list
ladder show 1
ladder settings C-0005
ladder settings C-0006 --tip "shader 4 mm"
ladder card 1 {dir}/ladder.pdf
reference show C-0005
reference show {long}
reference preview C-0005
reference sheet {long} --into {dir}/print --over-photo --marks
reference letters C-0005
reference compare {photo} --size "{size}"
quote draft C-0009
quote draft {long} --sure 90 --packing 12 --rush 10 --margin 5
quote show C-0004
quote show {long}
quote list C-0004
quote list {long}
quote print C-0004 --into {dir}
quote print {long} --into {dir}
quote print {long} --text
letter photos C-0004
letter order C-0004 --lettering "Mara & Tobias"
letter ready C-0004
letter balance {long}
letter deposit C-0004 --into {dir}
letter progress C-0005
letter delay C-0005 --until "in 4 weeks" --because "The board has split."
letter thanks C-0003
letter proposal {long}
letter thanks C-0003 --template
payment list
payment list {long}
payment invoice C-0004 --into {dir}
payment invoice {long} --into {dir}
payment invoice {long} --text
payment receipt 1 --into {dir}
payment receipt 1 --text
step list C-0004
step list C-0005
step list {long}
session now
session list
session list C-0005
session list --replaced
session planned
photo list
photo sheet C-0005 {dir}/photos.png
portfolio list
portfolio write --into {dir}
portfolio write C-0002 --hours --price --heading "Cats" --into {dir}/portfolio
photo compare C-0005 {photo} --corners "8,5 442,6 440,292 10,294" --no-keep --picture {dir}/off.png
finish show C-0004
finish show C-0009
finish card C-0004 {dir}/care.pdf
finish card {long} {dir}/care-small.pdf --form business
job-sheet {long} {dir}/long.pdf
promise
promise {long}
promise --hours 12
promise --hours 12 --weeks 3
calendar
calendar {dir}/studio.ics
week {dir}/week.pdf
week {dir}/next.pdf --next
days-off list
pace
pace --guess
past backtest
past export {dir}/past.csv
earnings
earnings --since 2026-01-01
estimate {photo} --size "{size}" --species basswood
estimate {photo} --size "{round}" --species cherry --zones 3
estimate --size "{odd}" --dark 3 --detail 4
estimate --size "{size}" --dark 3 --species baswood
whatif C-0009 --size "{size}"
price-list
price-list "{size}" "{small}" --species cherry
price-list --save {dir}/prices.pdf
price-list --text
check
""".strip().splitlines()

CHANGES = """
client add "Ingeborg Lund" --email ingeborg@example.org --phone 12345 --note "by mail"
client edit "Ingeborg Lund" --address "Mill Lane 1; Woodham"
client edit "Ingeborg Lund" --language en
client add "Inge Lund"
client merge "Inge Lund" --into "Ingeborg Lund" --yes
client add "Nobody Yet"
client remove "Nobody Yet"
commission add "Fox in snow" --client "Ingeborg Lund" --size "{odd}" --species basswood --due "in 6 weeks" --use outdoor
commission edit "Fox in snow" --size "{size}" --no-due
commission edit C-0009 --size "{small}"
commission pause C-0010 --because "waiting for a photo"
commission resume C-0010
blank add basswood "{size}" --thickness "{thick}" --cost {cost} --grit 150 --place "shelf 2"
blank add cherry "{round}"
blank add paper-birch "{small}"
blank edit B-0009 --thickness "{strip}"
blank sand B-0009 220
blank sand B-0009 --water
blank hold B-0009 "Fox in snow"
blank release B-0009
blank scrap B-0010 --because "cracked" --yes
blank photo B-0009 {photo}
blank grain B-0009 along-width
blank climate "{air}"
blank climate "{air}" --client "Ingeborg Lund"
blank moisture B-0009 9.5 --note "in the middle"
blank hold B-0009 "Fox in snow"
blank movement B-0009
blank condition B-0009 reclaimed --note "an old door"
blank override B-0009 "planed to bare wood" --yes
blank condition B-0009 --clear reclaimed --because "the mill says new"
blank species-add Pear --bare 70 --burnt 20 --radial 4 --tangential 9 --hardness 1660
ladder add basswood --tip "ball 2 mm" --heat 5 --strokes 1,2,3,4 --lightness 72,60,45,33
ladder add basswood --tip "ball 2 mm" --heat 5 --speed {speed},{speed}5,{speed}8 --lightness 50,60,70
ladder show 4
reference add "Fox in snow" {photo} --zones 4 --no-pictures
reference plan "Fox in snow" --focal "ellipse 30,20 60,70" --drop "{box}" --shift "{shift}" --margin "{strip}" --no-pictures
reference show "Fox in snow"
reference rights "Fox in snow" --taken-by Mara --allowed "in a mail"
reference letter "Fox in snow" Reynard "2014 – 2026" --height {strip} --clear {strip} --no-pictures
reference letter "Fox in snow" --number 1 --arc --font script --no-pictures
reference letters "Fox in snow"
reference show "Fox in snow"
reference sheet "Fox in snow" --into {dir}/lettered
reference unletter "Fox in snow" 1
reference together "Fox in snow" {photo} {photo} --crop "1: 0,0,60,100" --crop "2: 40,0,100,100" --no-pictures
reference together "Fox in snow" --shares 60,40 --seam hard --zones 4 --no-pictures
reference rights "Fox in snow" --number 2 --taken-by Jo --allowed "in a mail"
reference show "Fox in snow"
quote issue "Fox in snow" --round-to 5 --instalment "30% transferred" --packing 12 --discount 20% --because "second order"
quote proposal "Fox in snow" --into {dir} --sizes "{small}" --round-to 5 --certain 95
quote proposal "Fox in snow" --again --into {dir} --remark "As we said by telephone"
quote accept "Fox in snow" --size B
payment add "Fox in snow" 100 --deposit --how cash
payment correct 1 --how transfer
payment add "Fox in snow" 20
payment refund "Fox in snow" 20
step tick "Fox in snow" 1 2 3
step untick "Fox in snow" 3
step skip "Fox in snow" 8 --because "printed by the copy shop"
step add "Fox in snow" "Ask about the frame" --phase finish
session begin "Fox in snow" --zone 1 --tip "shader 4 mm" --heat 6
session now
today
session break
session go-on
session end --note "eyes" --done
session enter "Fox in snow" 1h30 --ended "yesterday 18:00" --work prepare
session enter "Fox in snow" 1h30 --ended "yesterday 18:15" --work prepare
session list "Fox in snow"
session correct 26 --length 1h15 --because "clock left running"
session set-aside 27 --because "a guest"
session list --rows 4
session teach 27
session remove 28 --because "never was"
session plan
session plan C-0005 "tomorrow 19:00" 2h
session unplan 1
photo add "Fox in snow" {photo} --note "Eyes done"
photo remove 3
photo compare "Fox in snow" {photo} --corners "8,5 442,6 440,292 10,294" --card "20,20" --page {dir}/off.pdf
photo list "Fox in snow"
photo show 3
commission show "Fox in snow"
photo add C-0001 {photo}
portfolio consent C-0001 yes --how "on the order" --on yesterday --shown-as "A sign for a stable"
portfolio choose C-0001 4
portfolio choose C-0001 --newest
portfolio list
portfolio consent C-0009 no
commission show C-0009
portfolio consent C-0009 not-asked
finish plan "Fox in snow" "hard wax oil" --coats 2 --dry 8h --next 12h
finish show "Fox in snow"
commission restart "Fox in snow" --blank B-0011 --because "scorched"
commission show "Fox in snow"
commission drop "Fox in snow" --because "moved away" --owed deposit --yes
payment invoice "Fox in snow" --text
commission deliver C-0003 --yes
payment write-off C-0003 --because "moved abroad"
earnings
days-off add friday --because "craft fair"
days-off remove 2
past import {past} --dry-run
past import {past}
past add Bridge --size "{size}" --species basswood --hours 19 --finished "3 weeks ago"
past list
past correct 1 --hours 12h30 --covers burning
past set-aside 1 --because "the board split"
past teach 1
past remove 1
history --rows 60
history C-0005
undo
redo
settings "hours=4 4 0 4 4 2 0" burning_hours=3 drying_days=2
backup {dir}/book.zip
export {dir}/everything
move-book --to {dir}/moved.db
restore {dir}/book.zip --yes
import {dir}/everything --yes --replace
""".strip().splitlines()

MISTAKES = """
commission show C-0099
commission show Cat
commission edit C-0009 --size 3x
commission edit C-0009 --size 1x1mm
commission edit C-0009 --size 0.01x0.01
commission edit C-0009 --due someday
commission add --size 12
blank add basswood 12
blank add basswood "{size}" --thickness 3x
blank add basswood "{size}" --thickness
blank add basswood "round 2x3"
blank climate 30
blank climate "500 10%"
blank movement B-0001
blank moisture B-0001 900
blank fit C-0011
blank hold B-0001 C-0009
quote issue C-0010
quote draft C-0010
quote draft C-0009 --instalment 30
quote accept C-0009 --size "{odd}"
letter delay C-0005 --because "The board has split."
quote proposal C-0009 --into {dir} --sizes 1x1mm
portfolio write C-0009
portfolio write C-0001 C-0002 --language klingon
portfolio consent C-0009 yes
portfolio consent C-0009 not-asked
portfolio choose C-0002 99
portfolio choose C-0002
reference show C-0010
reference plan C-0009 --focal "ellipse x"
reference plan C-0009 --focal "rectangle 9mm,9mm 12mm"
reference plan C-0009 --shift 9
reference plan C-0009 --shift "900in,0in" --no-pictures
reference plan C-0009 --margin 90in --no-pictures
reference plan C-0009 --min-area 99999 --no-pictures
reference plan C-0009 --turn x
reference letter C-0009 Biscuit --font nothing
reference letter C-0009 "Forever and ever and ever in our hearts" --height {strip}0 --no-pictures
reference letter C-0009 --number 4 --no-pictures
reference letter C-0009 Biscuit --at left --no-pictures
photo show 1
photo teach 1
photo compare C-0009 {photo} --corners "1,2"
reference together C-0009 {photo}
reference together C-0009 --seam hard
reference together C-0009 {photo} {photo} --place "2 0,0 50,50"
reference together C-0009 {photo} {photo} --crop "3: 0,0,50,50"
reference together C-0009 {photo} {photo} --shares 60
reference sheet C-0009 --paper a9
estimate {photo}
estimate --size 30
whatif C-0009
whatif C-0009 --zones x
whatif C-0009 --size 3
price-list 30
promise C-0003
step tick C-0005 99
session enter C-0005 3
session end
payment add C-0004 x
payment receipt x
payment invoice C-0010
settings ink=pink
settings line=grey
settings units=yards
ladder settings C-0011
ladder add basswood --tip ball --heat 2,3 --lightness 70
finish plan C-0004 oil
jobs --stage lost
past import {photo}
demo --keep {dir}
estimate --detial 3
blank fit C-0010 --photo {dir}
""".strip().splitlines()
