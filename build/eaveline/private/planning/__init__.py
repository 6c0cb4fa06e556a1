"""Planning applications and what the register knows near them."""
