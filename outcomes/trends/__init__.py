"""The review of a whole caseload: each question a section, each number traceable."""
