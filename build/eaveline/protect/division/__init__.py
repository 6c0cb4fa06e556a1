"""How a town is divided, from where its buildings stand alone, and stays so."""
