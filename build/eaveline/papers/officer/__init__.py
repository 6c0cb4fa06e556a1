"""Papers for planning officers: a sheet anyone may read, and an annex few may."""
