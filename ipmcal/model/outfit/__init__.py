"""The keeper's side: outfit, yards, colonies, and the record of treatments."""
