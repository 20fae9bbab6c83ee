-- Ledgers. journals has one row for each person; whoever adds entries holds it
-- locked meanwhile, so that numbers rise by one in the order of arrival.
create table journals (
	n       int generated always as identity primary key,
	person  text not null unique,
	journal text not null,             -- random id
	last    bigint not null default 0, -- number of the newest entry
	bytes   bigint not null default 0, -- of all records
	link    bytea not null,            -- of the newest entry
	day     text not null default '',  -- on which day_n entries were written
	day_n   bigint not null default 0
);

create table entries (
	ledger int    not null, -- n of journals
	seq    bigint not null,
	id     bytea  not null,
	raw    bytea  not null,
	link   bytea  not null, -- stands for the journal up to here
	primary key (ledger, seq),
	unique (ledger, id)
) partition by hash (ledger);

do $$
begin
	for i in 0..15 loop
		execute format('create table entries_%s partition of entries for values with (modulus 16, remainder %s)', i, i);
	end loop;
end $$;

-- Who may use the servers, codes, and what a crew shares: see package people.
create table registry (
	bucket text  not null,
	key    bytea not null,
	value  bytea not null,
	primary key (bucket, key)
);

create table sequences (
	bucket text primary key,
	n      bigint not null
);
