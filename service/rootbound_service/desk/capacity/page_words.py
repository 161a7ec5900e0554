"""What the page on capacity says around its tables."""

from __future__ import annotations

HEAD = """
# How large must it be?

For an operator who wants to know what a number of fields asks of machines, of public services
and of those who carry letters and texts. Everything below comes out of a model of one night;
for your own numbers:

```sh
rootbound capacity --fields 1e6 --cells 50000 --hosts 2
rootbound capacity simulate --fields 1e5 --workers 8 --nights 5 --seed 1
```

This page is written by `rootbound capacity page > deploy/capacity.md`; a test fails when it and
the model say different things. Figures marked "assumed" at the foot have not been measured yet:
what rests on them is no better than they are. `cluster.md` says how several hosts are set up.
"""

DENSE = """
## How many cells

Weather comes by cell, and all fields of a cell share it. How many fields lie in one depends on
how dense maize is: a cell of gridMET at 41 degrees is some 1,600 ha; where, as in Iowa, 36 % of
the land is maize in fields of 30 ha, it holds about twenty, elsewhere far fewer. The model
fills counties from the densest on, in the United States first, to four fifths of their fields,
and counts the cells that then hold at least one. Beyond that, fields lie in NASA POWER's cells,
half a degree wide. An operator who knows the cells gives them with `--cells`.
"""

PULLS = """
## What is asked of public services

One request at a time, starts at least {pause} s apart at each host, as the service does it;
requests are counted by the same rooms that make them (`weather/sources/`), over cells laid out
as one block: scattered fields need more. The services' own limits are not known to the model.
"""

WORK = """
## What is computed and kept
"""

TOLD = """
## What is told

One letter a person for any number of fields; a grower has {grower} of them, an adviser
{adviser}, {texting} of growers want a text as well. In a bad spell {bad} of all fields rise in
{bad_nights} nights: droughts are wide, so that is the night to be ready for. "In time" is
{telling} from eight o'clock on, all readers in one time zone: the worst case. Fields are taken
to rise by chance: those of one grower rise together, so that there are fewer letters, never
more.
"""

COSTS = """
## What costs money

A season of amounts to put prices to; the hours are those of the work itself, machines that wait
cost too.
"""

BREAKS = """
## What breaks first, and what then serves

Begun with one host of {host}, {senders} senders, a mail provider that takes {mail} letters a
second and a text provider that takes {texts} a second. Both are numbers that you set: providers
and carriers grant them to each sender anew, and published tables of US carriers differ from one
another. A night has {night} to eight o'clock; a resource runs out at {share} of its limit. The
scarcest is mended, then everything is looked at again. "not built" means that the service
cannot do this today.
"""

SIMULATED = """
## Nights played event by event

Pulls at their pace, chunks on workers of which some are lost, one database writer or several,
letters, senders held to their providers' limits from eight o'clock on. Times are from the start
of the night; nights 2 and 3 are of a bad spell. A night that passes eight o'clock sends when it
is done; quiet hours of a following evening are left out. Seed 1.
"""

MEASURED = """
## The figures it rests on
"""

LEFT_OUT = """
## What the model leaves out

Prices; the network between your hosts; PostgreSQL's vacuum and replicas; people who enrol
fields in their thousands on one day; what a public service does when it is asked so much;
fields scattered thinly over many counties; soils, asked once a field; memory of the process
that gathers a night; answers as they came, which are kept as well. Its queues are held against
textbook formulas and its pauses against the service's own turns by tests
(`tests/service/desk/capacity/`), its times against no large service: there has been none yet.
"""
