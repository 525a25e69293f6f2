"""The table of evidence: what each instrument may say with each fault, at each place and in each size.

sizes.py      the sizes of a fault that are tried, and a plant that is not quite as planned
noted.py      a reading as it is compared: numbers, and free values by their class
observe.py    takes every reading of one installation
expected.py   what may be read, within the tolerance of meter and plant
table.py      the table: kept in a file, asked which faults fit what was read
make.py       makes it, in several processes
pairs.py      what tells two faults apart
"""
