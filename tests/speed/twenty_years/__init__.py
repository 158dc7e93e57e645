"""An invented shop of twenty years, for measuring: the demo's jobs told again and again, at any scale.

    .venv/bin/python -m tests.speed.twenty_years --scale 0.01 --folder /tmp/twenty

The demo is loaded by the product's own services. Its jobs are patterns: each is read once and written many times with other
customers, sets, lots, days and numbers. So whatever the rules of the product ask of a job holds for every one, and
`python3 manage.py verify` finds no difference in such a shop.
"""
