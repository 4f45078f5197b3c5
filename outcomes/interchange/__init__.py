"""One case for another system: an HL7 FHIR R4 bundle of plain dictionaries."""
