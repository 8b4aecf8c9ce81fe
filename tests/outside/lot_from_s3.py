"""A lot from an S3 server, and its Parquet table in another reader."""

import csv
import logging
import unittest

import boto3
import pyarrow.parquet
from moto.server import ThreadedMotoServer

import estate


class FromS3(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        # A line for every request would bury what the checks say.
        logging.getLogger("werkzeug").setLevel(logging.ERROR)
        cls.server = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
        cls.server.start()
        host, port = cls.server.get_host_and_port()
        cls.env = {
            "AWS_ENDPOINT": f"http://{host}:{port}",
            "AWS_ALLOW_HTTP": "true",
            "AWS_ACCESS_KEY_ID": "nobody",
            "AWS_SECRET_ACCESS_KEY": "nothing",
            "AWS_REGION": "us-east-1",
        }
        store = boto3.client(
            "s3",
            endpoint_url=cls.env["AWS_ENDPOINT"],
            aws_access_key_id="nobody",
            aws_secret_access_key="nothing",
            region_name="us-east-1",
        )
        store.create_bucket(Bucket="museum")
        for path in sorted(estate.photos().rglob("*")):
            if path.is_file():
                key = f"estate of 1912/{path.relative_to(estate.photos()).as_posix()}"
                store.upload_file(str(path), "museum", key)

    @classmethod
    def tearDownClass(cls):
        cls.server.stop()

    def lot(self, address, out, *more, codes=(0, 2)):
        return estate.run(
            "lot", address, "--out", out, "--title", "Estate", "--time", estate.MOMENT,
            "--no-reports", *more, env=self.env, codes=codes,
        )

    def test_a_bucket_gives_the_result_of_the_folder(self):
        out = estate.folder() / "out"
        self.lot("s3://museum/estate of 1912", out)
        estate.assert_same(self, out, estate.one_run())

    def test_parts_from_a_bucket_merge_into_the_same(self):
        root = estate.folder()
        for part in (1, 2):
            self.lot("s3://museum/estate of 1912/", root / f"part-{part}", "--part", f"{part}/2")
        estate.run("lot", "merge", root / "part-1", root / "part-2", "--out", root / "out")
        estate.assert_same(self, root / "out", estate.one_run())

    def test_a_bucket_that_is_not_there_is_named(self):
        with self.assertRaisesRegex(AssertionError, "s3://nobody/x: no such store"):
            self.lot("s3://nobody/x", estate.folder() / "out", codes=(0,))


class Parquet(unittest.TestCase):
    def test_another_reader_finds_the_table_of_the_csv(self):
        table = pyarrow.parquet.read_table(estate.one_run() / "sheets.parquet")
        with open(estate.one_run() / "sheets.csv", newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual(table.column_names, list(rows[0]))
        self.assertEqual(str(table.schema.field("sheet").type), "string")
        self.assertEqual(str(table.schema.field("chance_of_reproduction").type), "double")
        self.assertEqual(str(table.schema.field("inspect").type), "bool")
        for ours, theirs in zip(rows, table.to_pylist(), strict=True):
            for name, value in theirs.items():
                if isinstance(value, bool):
                    value = "yes" if value else "no"
                elif isinstance(value, float):
                    self.assertEqual(float(ours[name]), value)
                    continue
                self.assertEqual(ours[name], "" if value is None else str(value), name)


if __name__ == "__main__":
    unittest.main()
