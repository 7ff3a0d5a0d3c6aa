"""What a keeper says of a sheet or a colony becomes lines of the journal."""
