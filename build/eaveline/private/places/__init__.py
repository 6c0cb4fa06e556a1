"""Places: from whatever a row says to one point in the town's grid."""
