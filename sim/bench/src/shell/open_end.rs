use std::io::{self, ErrorKind, Write};

/// An output whose reader may go away, as `head` does: what comes after is dropped.
pub(super) struct OpenEnd<'a> {
    inner: &'a mut dyn Write,
    is_closed: bool,
}

impl<'a> OpenEnd<'a> {
    pub(super) fn new(inner: &'a mut dyn Write) -> Self {
        Self {
            inner,
            is_closed: false,
        }
    }
}

impl Write for OpenEnd<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.is_closed {
            return Ok(bytes.len());
        }
        match self.inner.write(bytes) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.is_closed = true;
                Ok(bytes.len())
            }
            done => done,
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.is_closed {
            return Ok(());
        }
        match self.inner.flush() {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.is_closed = true;
                Ok(())
            }
            done => done,
        }
    }
}
