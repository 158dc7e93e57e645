"""How passwords are hashed."""

from django.contrib.auth.hashers import Argon2PasswordHasher


class ShopArgon2(Argon2PasswordHasher):
    """Argon2id as RFC 9106, section 4, recommends where memory is scarce: 3 passes over 64 MiB in 4 lanes.

    A hash made with other figures is made anew when its owner signs in.
    """

    time_cost = 3
    memory_cost = 64 * 1024
    parallelism = 4
