"""What travels between laptops: bundles, the shared folder, the data package."""
