// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/link/serial_link.hpp"

#include <sys/file.h>

#include <QSerialPort>
#include <QThread>
#include <QTimer>
#include <chrono>

namespace coldstroke::daq {

namespace {

constexpr int kRetryMilliseconds = 500;

/// `name` as the setup has it: QSerialPort drops "/dev/" and a reader looks for the whole.
QString open_trouble(const QSerialPort& port, const QString& name, Node node) {
  const QString where = QString{"%1 port '%2': "}.arg(word(node), name);
  switch (port.error()) {
    case QSerialPort::DeviceNotFoundError:
      return where + "no such port. Plug the board in, or correct the name in the setup; trying again";
    case QSerialPort::PermissionError:
      return where +
             "not allowed or in use. Close the other program that holds it, or join the group that owns the device; trying again";
    case QSerialPort::UnsupportedOperationError:
      return where + "the device does not take this baud rate or 8N1. Choose another baud rate in the setup; trying again";
    default:
      return where + "cannot be opened. Unplug and plug the board, or check the name in the setup; trying again";
  }
}

}  // namespace

HostTime host_now() {
  return HostTime{std::chrono::duration_cast<HostTime::duration>(std::chrono::steady_clock::now().time_since_epoch())};
}

/// Everything here lives on `thread`, but for the constructor's hand-over and the destructor's end.
struct SerialLink::Port : QObject {
  Port(PortSetup port_setup, Node which, Handlers calls)
      : setup{std::move(port_setup)}, node{which}, handlers{std::move(calls)} {}

  void begin() {
    serial = std::make_unique<QSerialPort>();
    retry = std::make_unique<QTimer>();
    retry->setInterval(kRetryMilliseconds);
    connect(retry.get(), &QTimer::timeout, this, [this] { open(); });
    connect(serial.get(), &QSerialPort::readyRead, this, [this] { read(); });
    connect(serial.get(), &QSerialPort::errorOccurred, this, [this](QSerialPort::SerialPortError error) {
      // A vanished port reports ReadError or ResourceError and goes on firing until it is closed.
      if (error == QSerialPort::ReadError || error == QSerialPort::ResourceError || error == QSerialPort::WriteError) lose();
    });
    serial->setPortName(QString::fromStdString(setup.name));
    open();
  }

  /// Two programs must never drive one rig. The library's lock goes by the port's name and is blind to another name of the same
  /// device (a symbolic link); the lock on the open device itself is not, and it dies with its holder.
  void open() {
    if (!serial->open(QIODevice::ReadWrite)) {
      const QString why = open_trouble(*serial, QString::fromStdString(setup.name), node);
      serial->clearError();
      refuse(why);
      return;
    }
    if (::flock(serial->handle(), LOCK_EX | LOCK_NB) != 0) {
      serial->close();
      refuse(QString{"%1 port '%2': in use. Close the other program that holds it; trying again"}.arg(word(node),
                                                                                                      serial->portName()));
      return;
    }
    if (!serial->setBaudRate(setup.baud)) {
      serial->close();
      handlers.lost(host_now(), QString{"%1 port '%2': the device does not take %3 baud. Choose another rate in the setup"}
                                    .arg(word(node), QString::fromStdString(setup.name))
                                    .arg(setup.baud));
      retry->start();
      return;
    }
    serial->clear(QSerialPort::Input);  // a line keeps stale bytes while nobody listens
    retry->stop();
    last_trouble.clear();
    handlers.opened(host_now());
  }

  void refuse(const QString& why) {
    if (why != last_trouble) handlers.lost(host_now(), why);
    last_trouble = why;
    retry->start();
  }

  void read() {
    const HostTime arrival = host_now();
    const QByteArray bytes = serial->readAll();
    if (bytes.isEmpty()) return;
    const auto* first = reinterpret_cast<const std::byte*>(bytes.constData());
    handlers.received(arrival, std::vector<std::byte>{first, first + bytes.size()});
  }

  void lose() {
    if (!serial->isOpen()) return;
    serial->close();
    handlers.lost(host_now(), QString{"%1 port '%2' vanished. Check the cable; it is opened again as soon as it is back"}.arg(
                                  word(node), QString::fromStdString(setup.name)));
    retry->start();
  }

  void write(const std::vector<std::byte>& bytes) {
    if (!serial->isOpen()) return;
    serial->write(reinterpret_cast<const char*>(bytes.data()), static_cast<qint64>(bytes.size()));
    serial->flush();  // saves a turn of the event loop
  }

  PortSetup setup;
  Node node;
  Handlers handlers;
  QThread thread;
  std::unique_ptr<QSerialPort> serial;
  std::unique_ptr<QTimer> retry;
  QString last_trouble;
};

SerialLink::SerialLink(const PortSetup& port, Node node, Handlers handlers)
    : port_{std::make_unique<Port>(port, node, std::move(handlers))} {
  port_->moveToThread(&port_->thread);
  connect(&port_->thread, &QThread::started, port_.get(), [p = port_.get()] { p->begin(); });
  port_->thread.start();
}

SerialLink::~SerialLink() {
  QMetaObject::invokeMethod(
      port_.get(),
      [p = port_.get()] {
        p->retry.reset();
        p->serial.reset();
      },
      Qt::BlockingQueuedConnection);
  port_->thread.quit();
  port_->thread.wait();
}

void SerialLink::write(std::vector<std::byte> bytes) {
  QMetaObject::invokeMethod(
      port_.get(), [p = port_.get(), b = std::move(bytes)] { p->write(b); }, Qt::QueuedConnection);
}

}  // namespace coldstroke::daq
