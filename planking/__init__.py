"""The arithmetic of planking: widths, gaps, and where two runs of planks are heading.

A tour, one file a question. Lengths are mm on the model unless a name says otherwise; inputs are frozen
dataclasses, nothing changes what it is given, there is no clock, no chance and no file. Whatever cannot be
read or used raises `PlankingError` with a sentence about one field.

`lengths`        how long is "9' 4 1/2\\"" on a model at 1:48, and how is 4.41 mm said in inches?
`next_widths`    how wide are the next strakes, from the gaps alone?
`lining`         how many strakes does a girth take, and how is an opening divided among them?
`limits`         how narrow and how wide may a strake be, and how many would do?
`rounding`       widths in whole steps, with every seam within half a step
`opening`        the facts of one opening: stations, strakes, plan, readings, instruments
`drift`          readings against the plan: carry on, spread it, change the plan, or measure the gap

`python -m planking --list` names what can be asked from the command line, as JSON.

A gap of 42 1/2 in at 1:48 is to be filled by five strakes. In mm on the model, divided, and said in inches:

>>> from fractions import Fraction
>>> from planking.lengths import Scale, read_length, round_run, show_full_size
>>> from planking.next_widths import StationGap, next_widths
>>> scale = Scale(1, 48)
>>> gap = read_length("42 1/2 in", field="gap at dead flat", size="full", scale=scale)
>>> gap.mm
Fraction(2159, 96)

Not quite a whole number of hundredths, so the sum says what is left over when five are cut to 4.50:

>>> answer = next_widths([StationGap("dead flat", gap.mm, 5)])
>>> answer.stations[0].sum
'22.49 / 5 = 4.50, 0.01 short'
>>> show_full_size(answer.stations[0].next_mm, scale).marked
'8 1/2 in'

Marked off from one edge to the sixteenth of an inch, no seam is more than half a step from its place:

>>> run = round_run(answer.stations[0].widths_mm, scale.to_model_mm(Fraction(254, 160)))
>>> run.steps
(136, 136, 136, 136, 136)
"""
