"""Operations: backup and restore, and what is amiss with a site or its machine."""
