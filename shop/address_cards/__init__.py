"""Address cards of telephones and address books (vCard 2.1, 3.0 by RFC 2426, 4.0 by RFC 6350): read, matched, written down."""
