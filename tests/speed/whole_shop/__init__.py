"""The whole shop measured: two shops of twenty years, one a hundredth of the other, side by side in one run.

`python3 manage.py speed` runs it. All figures are processor time, as other work on the machine disturbs it least; each ratio is
of the quickest of several rounds, taken turn by turn.
"""
