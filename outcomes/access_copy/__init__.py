"""A person's own record, whole and named, for the person who asks for it."""
