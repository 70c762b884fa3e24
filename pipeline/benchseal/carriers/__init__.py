"""Taking the files of a delivery to servers: SFTP, HTTP, S3. Folders are the desk's own (``desk/drop.py``)."""
