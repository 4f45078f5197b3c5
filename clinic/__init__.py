"""Who is treated, by whom, and on the record: people, episodes, access, audit."""
