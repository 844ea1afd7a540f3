#!/bin/sh
# Converts typed quantities with GNU units (Debian package "units") and prints tests/reference/gnu_units.csv:
#   sh tests/reference/oracles/gnu_units.sh > tests/reference/gnu_units.csv
# GNU units has its own spelling of feet with inches, which stands in the second column.
set -eu
export LC_ALL=C

convert() { # typed text, as GNU units spells it, SI unit
    printf '%s,%s,%s,%s\n' "$1" "$2" "$(units --terse --output-format '%.15g' "$2" "$3")" "$3"
}

echo "# $(units --version | head -n 1)"
echo "# command: units --terse --output-format '%.15g' <gnu units> <si unit>"
echo "typed,gnu units,value,si unit"
for lb in 1 18 22 0.1 172.5 187 250 290 329 341 350 400 499.9 500 573.2 700 999.999999; do
    convert "$lb lb" "$lb lb" kg
    convert "$lb lbs" "$lb lb" kg
done
for kg in 8 7.2 131.5 159 226.796185; do convert "$kg kg" "$kg kg" kg; done
for inches in 1 66 75 75.5 78.25; do convert "$inches in" "$inches in" m; done
for cm in 190 170.5; do convert "$cm cm" "$cm cm" m; done
for mm in 1905 2; do convert "$mm mm" "$mm mm" m; done
for feet in 5 6 7; do
    convert "$feet ft" "$feet ft" m
    for inches in 0 3 9.5 11 11.75; do
        convert "$feet ft $inches in" "$feet ft + $inches in" m
        convert "$feet'$inches''" "$feet ft + $inches in" m
    done
done
