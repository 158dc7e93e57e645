"""What the shop holds of a person: a copy on request, erasing what no law keeps, and the clock after which the rest goes.

At the roof, as it reads every app. The apps erase their own rows: `jobs.services.erasing`, `billing.services.erasing`,
`shop.customers`. Source of what is given and erased: Regulation (EU) 2016/679 (GDPR), articles 15, 17 and 20.
"""
